"""The form of a survey: what is typed becomes a measure or a size, or each field says what was expected."""

from __future__ import annotations

import contextlib
from datetime import UTC, datetime

import pytest
import web_job
from hypothesis import given
from hypothesis import strategies as st

from drainward.errors import InputError
from drainward.job.model import Measure, Received, Size, What
from drainward.quantity import INCH
from drainward.web.survey_entry import read_survey_entry

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
ID = "6d8c1b1e-2f7a-4b0e-9c55-1a2b3c4d5e6f"
FORM = {
    "id": ID, "what": "width", "wall": "", "x": "", "y": '2"', "z": '40"', "x2": "", "y2": "", "value": "62-13/16 in",
    "sense": "", "u": "", "instrument": "edge-48", "who": " Ana  B. ", "note": "", "setup": "",
}  # fmt: skip
PLUMB = {"what": "plumb", "wall": "left", "y": '2"', "z": '72"', "value": "3/16 in"}
DAMAGE = {"what": "damage", "value": "crack", "instrument": "", "y": "", "z": ""}


def read(photo: bool = False, **changes: str) -> Measure | Received:
    job = web_job.job()
    return read_survey_entry(FORM | changes, job, job.rooms[0], NOW, photo=photo)


def faults(photo: bool = False, **changes: str) -> dict[str, str]:
    with pytest.raises(InputError) as refused:
        read(photo, **changes)
    assert {problem.line for problem in refused.value.problems} == {None}
    return {problem.field: problem.expected for problem in refused.value.problems}


def test_a_measure_is_read_as_a_row_of_survey_csv_is() -> None:
    measure = read()
    assert isinstance(measure, Measure)
    assert (measure.id, measure.room, measure.what, measure.who, measure.when) == (ID, "101", "width", "Ana B.", NOW)
    assert (measure.y, measure.z, measure.value) == pytest.approx((2 * INCH, 40 * INCH, 62.8125 * INCH))
    assert (measure.u, measure.instrument, measure.file, measure.line) == (0.0003, "edge-48", "page", None)
    assert measure.written == "62-13/16 in"


@pytest.mark.parametrize(
    ("what", "sense", "value"),
    [
        (PLUMB, "in", 3 / 16),
        (PLUMB, "out", -3 / 16),
        (PLUMB, "", 3 / 16),
        ({"what": "square", "wall": "right", "y": '24"', "z": "", "value": "3/16 in"}, "closed", -3 / 16),
        ({"what": "slab", "x": '4"', "z": "", "value": "41-3/16 in"}, "below", -(41 + 3 / 16)),
    ],
)
def test_a_word_gives_the_sign(what: dict[str, str], sense: str, value: float) -> None:
    assert read(**what, sense=sense).value == pytest.approx(value * INCH)


def test_a_sign_and_a_word_are_not_both_taken() -> None:
    assert "has a sign beside the word in" in faults(**PLUMB | {"value": "-3/16 in"}, sense="in")["value"]
    assert "choose in or out" in faults(**PLUMB, sense="up")["sense"]
    assert read(**PLUMB | {"value": "-3/16 in"}).value == pytest.approx(-3 / 16 * INCH)


def test_sizes_and_damage_of_a_unit() -> None:
    size = read(what="inside width", value="60-1/4 in", y="", z="")
    assert isinstance(size, Received)
    assert (size.what, size.value) == (Size.INSIDE_WIDTH, pytest.approx(60.25 * INCH))
    seen, none = read(photo=True, **DAMAGE), read(**DAMAGE | {"value": "none"})
    assert (seen.what, seen.value, seen.written, none.value) == (Size.DAMAGE, 1.0, "crack", 0.0)


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"value": ""}, "value", "is missing; width is written such as"),
        ({"value": "59"}, "value", "has no unit"),
        ({"value": "6 in"}, "value", "expected 0.3 to 5 m"),
        ({"what": "widht"}, "what", 'did you mean "width"?'),
        ({"y": ""}, "y", "is missing; width needs y, z"),
        ({"x": "2 in"}, "x", "says nothing of width"),
        ({"instrument": "digital-12"}, "u", "has no u in job.toml"),
        ({"instrument": ""}, "u", "no instrument is named"),
        ({"id": "x"}, "id", "load the page again"),
        ({"note": "x" * 501}, "note", "is too long"),
        (DAMAGE | {"value": ""}, "value", "expected none, or the damage in words"),
        (DAMAGE | {"wall": "left"}, "wall", "says nothing of damage"),
        ({"what": "outside width", "value": "10 in", "y": "", "z": ""}, "value", "off the cut sheet"),
    ],
)
def test_each_field_says_what_was_expected(changes: dict[str, str], field: str, says: str) -> None:
    assert says in faults(**changes)[field]


def test_a_photograph_belongs_to_a_unit() -> None:
    assert "leave it out here" in faults(photo=True)["photo"]


@given(st.dictionaries(st.sampled_from(list(FORM)), st.text(max_size=40)))
def test_whatever_is_typed_is_read_or_refused(typed: dict[str, str]) -> None:
    with contextlib.suppress(InputError):
        assert read(**typed).what in (*What, *Size)
