"""The entry form: what is typed becomes a reading, or each field says what was expected."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from fractions import Fraction

import hand_made
import pytest
import web_job
from hypothesis import given
from hypothesis import strategies as st

from drainward.errors import InputError
from drainward.job.model import Reading
from drainward.quantity import parse_length, parse_slope
from drainward.web.entry import read_entry

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
ID = "1f0e8d5c-8c5e-4b52-9a54-0a6a3f1b2c3d"
FORM = {
    "id": ID, "kind": "slope", "x": '12"', "y": "20", "x2": "24", "y2": '20"', "value": "1.5", "unit": "%",
    "sense": "falls", "instrument": "digital-12", "setup": "", "who": " Ana  B. ", "note": "",
}  # fmt: skip


def read(**changes: str) -> Reading:
    return read_entry(FORM | changes, web_job.job(), "101", hand_made.unit(), NOW)


def faults(**changes: str) -> dict[str, str]:
    with pytest.raises(InputError) as refused:
        read(**changes)
    return {problem.field: problem.expected for problem in refused.value.problems}


def test_a_slope_that_falls_is_negative_and_reads_the_same_alone() -> None:
    reading = read()
    assert (reading.value, reading.written) == (-0.015, "-1.5 %")
    assert (reading.x, reading.y, reading.x2, reading.y2) == (0.3048, 0.508, 0.6096, 0.508)
    assert (reading.id, reading.u, reading.who, reading.when, reading.stage) == (ID, 0.0009, "Ana B.", NOW, "draft")


@pytest.mark.parametrize(
    ("changes", "value", "written"),
    [
        ({"sense": "rises"}, 0.015, "1.5 %"),
        ({"value": "1/4", "unit": "in/ft", "sense": "rises"}, 1 / 48, "1/4 in/ft"),
        ({"value": "1:48"}, -1 / 48, "-1:48"),
        ({"value": "0", "sense": ""}, 0.0, "0 %"),
        ({"kind": "chord", "value": "1/16", "unit": "in", "sense": "gap", "instrument": "edge-48"}, 0.0015875, '1/16"'),
        ({"kind": "chord", "value": "2", "unit": "mm", "sense": "rocks", "instrument": "edge-48"}, -0.002, "-2 mm"),
        ({"kind": "wedge", "value": "1-3/16", "unit": "in", "instrument": "level-24"}, 0.0301625, '1-3/16"'),
        ({"kind": "height", "value": '-1/8"', "unit": "in", "instrument": "edge-48"}, -0.003175, '-1/8"'),
        ({"kind": "height", "value": "5", "unit": "in", "instrument": "edge-48"}, 0.127, '5"'),
    ],
)
def test_kinds_signs_and_units(changes: dict[str, str], value: float, written: str) -> None:
    reading = read(**changes)
    assert reading.value == pytest.approx(value, abs=1e-12)
    assert reading.written == written


@given(
    st.sampled_from(["slope", "chord"]),
    st.integers(0, 1),
    st.integers(0, 15),
    st.sampled_from(["falls", "rises", "gap", "rocks"]),
)
def test_the_written_form_read_alone_is_the_value(kind: str, whole: int, sixteenths: int, sense: str) -> None:
    size = Fraction(sixteenths, 16)
    typed = f"{whole or ''}{'-' if whole and size else ''}{size if size or not whole else ''}"
    slope = kind == "slope"
    if (sense in ("falls", "rises")) != slope:
        return
    tool, unit = ("digital-12", "in/ft") if slope else ("edge-48", "in")
    reading = read(kind=kind, value=typed, unit=unit, sense=sense, instrument=tool)
    assert (parse_slope if slope else parse_length)(reading.written).value == pytest.approx(reading.value, abs=1e-15)


def test_heights_of_one_set_up_share_its_name() -> None:
    first = read(kind="height", value="1/2", unit="in", instrument="edge-48")
    assert first.setup == f"edge-48 {ID[:8]}"
    assert (first.x2, first.y2) == (None, None)
    later = read(kind="height", value="1/2", unit="in", instrument="edge-48", id=str(uuid.uuid4()), setup=first.setup)
    assert later.setup == first.setup
    assert read().setup == ""


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"id": "no"}, "id", "is not a reading's id; load the page again"),
        ({"kind": "tap"}, "kind", "is not read here; expected slope, wedge, chord, height"),
        ({"x": ""}, "x", "is not filled in"),
        ({"y2": "around 12"}, "y2", "is not a length"),
        ({"x": "1e400"}, "x", "is not one number with one unit"),
        ({"x": "9" * 61}, "x", "is too long"),
        ({"x": "200 in"}, "x", "lies more than 1 m outside the unit"),
        ({"x2": "12", "y2": "20"}, "x2", "is the same place as the first end"),
        ({"value": ""}, "value", "is not filled in"),
        ({"value": "3-Apr"}, "value", "spreadsheet"),
        ({"value": "1,5"}, "value", "decimal point"),
        ({"value": "-1.5"}, "value", 'write the slope without one and choose "falls" or "rises"'),
        ({"value": "30"}, "value", "is more than any moulded floor shows"),
        ({"sense": ""}, "sense", "choose falls or rises"),
        ({"sense": "gap"}, "sense", "choose falls or rises"),
        ({"value": "1/4", "unit": "%"}, "value", "may be inches per foot or a ratio"),
        ({"value": "19", "unit": "in"}, "value", "has no unit"),
        ({"instrument": "edge-48"}, "instrument", "has no standard uncertainty for a slope"),
        ({"instrument": "nothing"}, "instrument", "the job has level-24, digital-12, edge-48"),
        ({"kind": "wedge", "value": "-1/8", "unit": "in", "instrument": "level-24"}, "value", "rest the level"),
    ],
)  # fmt: skip
def test_each_fault_is_named_at_its_field(changes: dict[str, str], field: str, says: str) -> None:
    found = faults(**changes)
    assert list(found) == [field]
    assert says in found[field]


def test_every_fault_is_named_at_once() -> None:
    assert set(faults(x="", value="x", instrument="", sense="")) == {"x", "value", "instrument"}


@given(st.dictionaries(st.sampled_from([*FORM, "else"]), st.text(max_size=70)))
def test_whatever_is_sent_is_read_or_refused(changes: dict[str, str]) -> None:
    form = FORM | changes
    try:
        reading = read_entry(form, web_job.job(), "101", hand_made.unit(), NOW)
    except InputError as refused:
        named = {problem.field for problem in refused.problems if problem.expected}
    else:
        assert reading.room == "101"
        return
    assert named
    assert named <= FORM.keys()
