"""docs/job-folder.md: its examples load without a problem, and it names everything that a job folder can hold."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import job_texts
import pytest
from pydantic import BaseModel

from drainward.job import (
    Crew,
    Drain,
    Fittings,
    Flange,
    Floor,
    Framing,
    Instrument,
    Job,
    Loaded,
    Materials,
    NamedHeight,
    Panel,
    Pattern,
    ReadingKind,
    Room,
    RuleChoice,
    Site,
    Size,
    Support,
    UnitModel,
    Water,
    What,
    Work,
    delivered_file,
    load,
    readings_file,
    received_file,
    rooms_file,
    setting_file,
    survey_file,
    water_file,
)
from drainward.job.fittings import ScrewSize, Species
from drainward.job.photos import MOST
from drainward.job.puddles import SLACK
from drainward.job.readings_file import STAGES
from drainward.job.unit_in import EDGE_POINTS
from drainward.quantity import parse_duration, parse_flow, parse_length, parse_temperature, parse_volume
from drainward.rules import load_rules

TEXT = (Path(__file__).parents[1] / "docs/job-folder.md").read_text(encoding="utf-8")
CODE = set(re.findall(r"`([^`\n]+)`", TEXT))


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Loaded:
    folder = tmp_path_factory.mktemp("job")
    for name, content in re.findall(r"^```\w+ ([\w./-]+)\n(.*?)^```$", TEXT, re.MULTILINE | re.DOTALL):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(content, encoding="utf-8")
    (folder / "photos").mkdir()
    (folder / "photos/101-corner.jpg").write_bytes(job_texts.JPEG)
    return load(folder)


def test_the_examples_load(loaded: Loaded) -> None:
    assert loaded.problems == ()
    job = loaded.job
    assert ({unit.style for unit in job.units.values()}, len(job.rooms)) == ({"bedded", "own base"}, 3)
    assert {unit.floor.form for unit in job.units.values()} == {"planes", "cone"}
    assert {reading.kind for reading in job.readings} == set(ReadingKind)
    used = {entry.instrument for entry in (*job.readings, *job.survey, *job.received, *job.setting)} - {""}
    assert set(job.instruments) == used
    assert {measure.what for measure in job.survey} == set(What)
    assert {event.what for event in job.setting} == set(Work)
    assert [came.packs for came in job.delivered] == [24, 30, -2]
    assert [size.what for size in job.received] == [Size.OUTSIDE_WIDTH, Size.DRAIN_X, Size.DAMAGE, Size.DAMAGE]
    assert {test.how for test in job.water_tests} == set(Pattern)
    assert [test.puddles and len(test.puddles) for test in job.water_tests] == [2, (), None, ()]
    load_rules(job.rules)


@pytest.mark.parametrize(
    "model",
    [
        *(Job, Water, Fittings, Framing, RuleChoice, Crew, Instrument, UnitModel, Drain, Floor, Panel, Flange),
        *(NamedHeight, Room, Materials, Support, Site, *(type(part) for _, part in Materials())),
    ],
)
def test_every_key_is_named(model: type[BaseModel]) -> None:
    assert {name for name in model.model_fields if name not in CODE} - {"surveyed"} == set()


@pytest.mark.parametrize(
    "names",
    [
        (*rooms_file.REQUIRED, *rooms_file.OPTIONAL, "surveyed ...", "surveyed width"),
        (*readings_file.REQUIRED, *readings_file.OPTIONAL),
        (*water_file.REQUIRED, *water_file.OPTIONAL),
        tuple(What),
        (*setting_file.REQUIRED, *setting_file.OPTIONAL),
        tuple(Work),
        tuple(Size),
        tuple(Pattern),
        tuple(ReadingKind),
        STAGES,
        tuple(EDGE_POINTS),
        get_args(Species),
        get_args(ScrewSize),
    ],
)
def test_every_word_is_named(names: tuple[str, ...]) -> None:
    assert {name for name in names if name not in CODE} == set()


@pytest.mark.parametrize(
    ("section", "columns"),
    [
        ("rooms.csv", (*rooms_file.REQUIRED, *rooms_file.OPTIONAL)),
        ("readings.csv", (*readings_file.REQUIRED, *readings_file.OPTIONAL)),
        ("water.csv", (*water_file.REQUIRED, *water_file.OPTIONAL)),
        ("survey.csv", (*survey_file.REQUIRED, *survey_file.OPTIONAL)),
        ("received.csv", (*received_file.REQUIRED, *received_file.OPTIONAL)),
        ("setting.csv", (*setting_file.REQUIRED, *setting_file.OPTIONAL)),
        ("delivered.csv", delivered_file.COLUMNS),
    ],
)
def test_every_column_has_a_row_in_the_table_of_its_file(section: str, columns: tuple[str, ...]) -> None:
    text = TEXT.split(f"\n## {section}\n")[1].split("\n## ")[0]
    table = text.split("| column |")[1].split("\n\n")[0]
    rows = {name for row in re.findall(r"^\|([^|]*)\|", table, re.MULTILINE) for name in re.findall("`([^`]+)`", row)}
    assert set(columns) == rows - {"surveyed ..."}


def test_the_messages_are_the_real_ones(tmp_path: Path) -> None:
    shown = re.findall(r"^(\S+, line \d+, .*)$", TEXT, re.MULTILINE)
    assert len(shown) == 3
    job_texts.write(tmp_path)
    (tmp_path / "units/bad.toml").write_text(job_texts.BEDDED.replace('"165 lb"', '"165"'))
    rooms = ["room,unit,ready", *[""] * 12, "104,alcove,32/1/26"]
    (tmp_path / "rooms.csv").write_text("\n".join(rooms))
    readings = [job_texts.READINGS_HEADER, *[""] * 29, *["1O4,,,,,tap,1 in,1 in,,,sound"] * 6]
    (tmp_path / "readings.csv").write_text("\n".join(readings))
    real = {str(problem).replace("bad.toml", "alcove.toml") for problem in load(tmp_path).problems}
    assert set(shown) <= real


def _default(key: str) -> str:
    found = re.search(rf"^\| `{key}` \|(?:[^|]*\|)?? `([^`]+)` \|", TEXT, re.MULTILINE)
    assert found, key
    return found[1]


def test_defaults_are_those_of_the_types() -> None:
    job, rules = Job(name=""), RuleChoice()
    assert float(_default("risk")) == job.risk
    assert parse_length(_default("fall_base")).value == job.fall_base
    assert parse_length(_default("pond_counts")).value == job.pond_counts
    assert parse_length(_default("threshold_width")).value == UnitModel.model_fields["threshold_width"].default
    assert _default("shower") == rules.shower
    assert _default("clear_space_in_shower") == str(rules.clear_space_in_shower).lower()
    assert _default("use") == str(list(rules.use)).replace("'", '"')


def test_the_water_poured_by_default_is_that_of_the_types() -> None:
    water = Water()
    assert parse_volume(_default("poured")).value == water.poured
    assert parse_duration(_default("over")).value == water.over
    assert _default("how") == water.how
    assert parse_flow(_default("flow")).value == pytest.approx(water.flow)
    assert parse_temperature(_default("temperature")).value == water.temperature
    assert _default("contact_angle") == str([round(angle) for angle in water.contact_angle])
    pipe = re.search(r"`pipe`, a length, `([^`]+)` where left out", TEXT)
    assert pipe is not None
    assert parse_length(pipe[1]).value == Drain.model_fields["pipe"].default


def test_the_wood_and_screws_by_default_are_those_of_the_types() -> None:
    framing = Framing()
    assert (_default("species"), _default("screw_size")) == (framing.species, framing.screw_size)
    assert parse_length(_default("depth")).value == pytest.approx(framing.depth)
    assert parse_length(_default("screw_length")).value == pytest.approx(framing.screw_length)


def test_the_table_of_measures_says_what_each_needs() -> None:
    table = TEXT.split("| `what` | needs |")[1].split("\n\n")[0]
    for names, needs in re.findall(r"^\|([^|]*`[^|]*)\|([^|]*)\|", table, re.MULTILINE):
        said = set(re.findall("`([^`]+)`", needs))
        for name in re.findall("`([^`]+)`", names):
            asked = survey_file.PLACES[What(name)]
            own = {"along": {"x", "y"}, "along 2": {"x2", "y2"}}
            expected = {column for needed in asked.needed for column in own.get(needed, {needed})}
            assert said == expected | ({"wall"} if asked.walls else set()), name
    assert survey_file._SLACK == 1.0
    assert {survey_file.PLACES[what].high for what in (What.PLUMB, What.SQUARE)} == {0.1}
    assert pytest.approx(3 * 0.0254) == received_file._OFF


def test_limits_are_those_of_the_code() -> None:
    said = "more than 0.3 m for a wedge or a chord, 30 % for a slope, 5 m for a height, 50 mm for a press"
    assert said in TEXT
    assert readings_file._LIMITS == {
        ReadingKind.HEIGHT: 5.0,
        ReadingKind.WEDGE: 0.3,
        ReadingKind.SLOPE: 0.3,
        ReadingKind.CHORD: 0.3,
        ReadingKind.PRESS: 0.05,
    }
    assert readings_file._OUTSIDE == 1.0
    most = {"poured": water_file._POURED * 1000, "over": water_file._OVER / 3600, "drained": water_file._DRAINED / 3600}
    most |= {"hottest": water_file._HOTTEST, "flow": water_file._FLOW * 1000}
    table = TEXT.split("\n## water.csv\n")[1]
    for column, number in most.items():
        assert re.search(rf"^\| `{column}` \|[^|]*\b{number:g} ", table, re.MULTILINE), column
    assert f"at most {MOST / 1e6:g} MB" in table
    assert f"up to {SLACK * 1000:g} mm beyond the shower floor" in table
