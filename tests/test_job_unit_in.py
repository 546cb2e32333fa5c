"""Unit models from their files: both ways of standing, both forms of floor, and every refusal with its line."""

from __future__ import annotations

from pathlib import Path

import job_texts
import pytest

from drainward.errors import Problem
from drainward.job import UnitModel
from drainward.job.unit_in import EDGE_POINTS, read_unit

INCH = 0.0254


def read(tmp_path: Path, text: str, name: str = "u.toml") -> tuple[UnitModel | None, tuple[Problem, ...]]:
    (tmp_path / name).write_text(text, encoding="utf-8")
    return read_unit(tmp_path / name, f"units/{name}")


def test_bedded_over_a_recess(tmp_path: Path) -> None:
    unit, problems = read(tmp_path, job_texts.BEDDED, "alcove.toml")
    assert problems == ()
    assert unit is not None
    assert (unit.id, unit.name, unit.style) == ("alcove", "Alcove 60 x 36", "bedded")
    assert unit.outside_height == pytest.approx(80 * INCH)
    assert unit.mass == pytest.approx(165 * 0.45359237)
    assert unit.minimum_cure == 24 * 3600
    assert (unit.threshold_width, unit.threshold_lip) == (0.05, None)
    assert (unit.drain.open_area, unit.drain.pipe) == (None, 0.0508)
    places = [(point.x / INCH, point.y / INCH, point.height / INCH) for point in unit.floor.heights]
    assert places == [
        pytest.approx(place)
        for place in ((0, 0, 5 / 8), (60, 0, 5 / 8), (60, 36, 1 / 2), (30, 36, 3 / 8), (0, 36, 1 / 2))
    ]


def test_own_base_on_a_flat_slab(tmp_path: Path) -> None:
    unit, problems = read(tmp_path, job_texts.OWN_BASE, "open.toml")
    assert problems == ()
    assert unit is not None
    assert (unit.style, unit.floor.form, unit.floor.fall) == ("own base", "cone", pytest.approx(1 / 60))
    assert unit.threshold_height == 0


def test_what_limits_the_water(tmp_path: Path) -> None:
    lip = job_texts.BEDDED.replace(
        "[drain]", 'threshold_lip = "1/4 in"\n[drain]\nopen_area = "4.2 sq in"\npipe = "3 in"'
    )
    unit, problems = read(tmp_path, lip)
    assert problems == ()
    assert unit is not None
    assert (unit.drain.open_area, unit.drain.pipe) == (pytest.approx(4.2 * INCH**2), pytest.approx(3 * INCH))
    assert unit.threshold_lip == pytest.approx(INCH / 4)


def test_edge_points_lie_round_the_edge() -> None:
    assert len(set(EDGE_POINTS.values())) == 8
    for name, (x, y) in EDGE_POINTS.items():
        assert ("back" in name) == (y == 0)
        assert ("front" in name) == (y == 1)
        assert ("left" in name) == (x == 0)
        assert ("right" in name) == (x == 1)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"165 lb"', "165", 'units/u.toml, line 9, field "mass": "165" is a bare number; write it with its unit'),
        ('"165 lb"', '"165"', 'line 9, field "mass": "165" has no unit'),
        ('"165 lb"', '"165 in"', 'line 9, field "mass": "165 in" is not'),
        ("[drain]", "[drian]", 'line 12, field "drian": "drian" is no key here (did you mean "drain"?)'),
        ('radius = "2 in"', 'radius = "2 m"', 'line 15, field "drain.radius": "2 m" is too much'),
        (
            'radius = "2 in"',
            'radius = "2 in"\nopen_area = "4 in"',
            'line 16, field "drain.open_area": "4 in" is not one',
        ),
        ('radius = "2 in"', 'radius = "2 in"\npipe = "2 m"', 'line 16, field "drain.pipe": "2 m" is too much'),
        ('radius = "2 in"', "", 'line 12, field "drain.radius": "" is missing'),
        (
            'x = "30 in"\ny = "18',
            'x = "80 in"\ny = "18',
            'line 12, field "drain": "drain" is not usable: the drain lies outside the floor',
        ),
        (
            '"bedded"',
            '"beded"',
            "line 2, field \"style\": \"beded\" is not understood; expected 'bedded' or 'own base'",
        ),
        ('"front right"', '"frontright"', 'line 25, field "floor.heights[3].at": "frontright" is no point of the edge'),
        ('"front right"', "3", 'line 25, field "floor.heights[3].at": "3" is no point of the edge'),
        ('at = "front right"', 'x = "10 in", y = "10 in"', "does not lie on the edge of the floor"),
        ('"front right"', '"front left"', "gives a second height for one point"),
        ('height = "3/8 in"', "height = 3", 'line 26, field "floor.heights[4].height": "3" is a bare number'),
        ('x = "30 in", y', 'at = "front", x = "30 in", y', "stands beside x or y"),
        ('"planes"', '"cone"', 'line 19, field "floor": "floor" is not usable: a cone floor needs "fall"'),
        ('"61-1/2 in"', '"59 in"', 'line 3, field "outside_width": "outside_width" is not usable: the outside is'),
        ('form = "planes"', 'form = "planes"\nform = "cone"', 'line 21: "form = "cone"" is not TOML'),
        ('"6\'-8 in"', "''", 'field "outside_height": "" is empty'),
    ],
)
def test_refusal_names_line_and_key(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert old in job_texts.BEDDED
    unit, problems = read(tmp_path, job_texts.BEDDED.replace(old, new, 1))
    assert unit is None
    assert message in "\n".join(map(str, problems))
    assert len(problems) <= 2, "one slip is not told many times"


def test_every_slip_of_a_file_is_told_at_once(tmp_path: Path) -> None:
    text = job_texts.BEDDED.replace('"165 lb"', "165").replace('"bedded"', '"wet"').replace('"3 in"', '"3 kg"')
    _, problems = read(tmp_path, text)
    assert [problem.field for problem in problems] == ["mass", "drain.body_depth", "style"]


def test_latin_1_and_a_byte_order_mark(tmp_path: Path) -> None:
    (tmp_path / "u.toml").write_bytes(job_texts.BEDDED.replace("Alcove", "Alcôve").encode("latin-1"))
    unit, _ = read_unit(tmp_path / "u.toml", "units/u.toml")
    assert unit is not None
    assert unit.name.startswith("Alcôve")
    (tmp_path / "u.toml").write_bytes(b"\xef\xbb\xbf" + job_texts.BEDDED.replace("\n", "\r\n").encode())
    assert read_unit(tmp_path / "u.toml", "units/u.toml")[0] is not None


def test_nested_too_deeply_is_one_problem(tmp_path: Path) -> None:
    unit, problems = read(tmp_path, "a = " + "[" * 5000 + "]" * 5000)
    assert unit is None
    assert "nested too deeply" in str(problems[0])
