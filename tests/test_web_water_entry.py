"""The form of a water test: what is typed becomes a test, or each field says what was expected."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
import web_job
from hypothesis import given
from hypothesis import strategies as st

from drainward.errors import InputError
from drainward.job.model import Pattern, Puddle, WaterTest
from drainward.web.water_entry import read_water_entry

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
ID = "6d8c1b1e-2f7a-4b0e-9c55-1a2b3c4d5e6f"
FORM = {
    "id": ID, "poured": "1 gal", "over": "58 s", "how": "over the floor", "x": "", "y": "", "drained": "1 min 52 s",
    "puddles": '45-1/4" / 26-3/4", 4 in across, 1/8 in deep; 12" / 27"', "soap": "no", "hottest": "", "flow": "",
    "who": " Ana  B. ", "note": "",
}  # fmt: skip


def read(**changes: str) -> WaterTest:
    job = web_job.job()
    return read_water_entry(FORM | changes, job, job.rooms[0], NOW)


def faults(**changes: str) -> dict[str, str]:
    with pytest.raises(InputError) as refused:
        read(**changes)
    assert {problem.line for problem in refused.value.problems} == {None}
    return {problem.field: problem.expected for problem in refused.value.problems}


def test_a_test_is_read_as_a_row_of_water_csv_is() -> None:
    test = read()
    assert (test.id, test.room, test.who, test.when, test.file, test.line) == (ID, "101", "Ana B.", NOW, "page", None)
    assert (test.poured, test.over, test.drained) == (pytest.approx(3.785411784e-3), 58.0, 112.0)
    first, second = test.puddles or ()
    assert (first.x, first.y) == (pytest.approx(1.14935), pytest.approx(0.67945))
    assert (first.across, first.depth) == (pytest.approx(0.1016), pytest.approx(0.003175))
    assert (second.across, second.depth) == (None, None)
    assert test.written.startswith("1 gal | 1 min 52 s | 45-1/4")


@pytest.mark.parametrize(("typed", "seen"), [("", None), ("none", ()), ("None", ())])
def test_nobody_looked_is_not_none_seen(typed: str, seen: tuple[Puddle, ...] | None) -> None:
    assert read(puddles=typed).puddles == seen


def test_what_is_left_out_is_the_job_s_or_nothing() -> None:
    test = read(over="", drained="", puddles="", who="")
    assert (test.over, test.drained, test.puddles, test.hottest, test.flow) == (60.0, None, None, None, None)
    assert test.how is Pattern.OVER_THE_FLOOR


def test_soap_heat_flow_and_a_bucket_s_place() -> None:
    test = read(how="at a point", x="30 in", y='18"', soap="yes", hottest="118 F", flow="2.4 gpm")
    assert (test.how, test.soap) == (Pattern.AT_A_POINT, True)
    assert (test.x, test.y) == (pytest.approx(0.762), pytest.approx(0.4572))
    assert test.hottest == pytest.approx(47.78, abs=0.01)
    assert test.flow == pytest.approx(2.4 * 3.785411784e-3 / 60)


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"id": "no"}, "id", "is not a test's id; load the page again"),
        ({"poured": ""}, "poured", "how much was poured"),
        ({"poured": "a bucket"}, "poured", "is not"),
        ({"poured": "1 gal" + " " * 3 + "x" * 70}, "poured", ""),
        ({"drained": "20 s"}, "drained", "it counts from the first water on"),
        ({"puddles": "in the corner"}, "puddles", "is no place from the left / from the back"),
        ({"soap": "a bit"}, "soap", "expected yes or no"),
        ({"hottest": "118"}, "hottest", ""),
        ({"flow": "a lot"}, "flow", ""),
        ({"how": "with a cup"}, "how", "is no way to pour"),
        ({"note": "x" * 501}, "note", "is too long"),
    ],
)
def test_each_fault_is_named_at_its_field(changes: dict[str, str], field: str, says: str) -> None:
    found = faults(**changes)
    assert list(found) == [field]
    assert says in found[field]


def test_every_fault_is_named_at_once() -> None:
    assert set(faults(poured="", drained="soon", puddles="there", id="")) == {"poured", "drained", "puddles", "id"}


@given(st.dictionaries(st.sampled_from([*FORM, "room", "when", "photo", "else"]), st.text(max_size=70)))
def test_whatever_is_sent_is_read_or_refused(changes: dict[str, str]) -> None:
    try:
        test = read(**changes)
    except InputError as refused:
        named = {problem.field for problem in refused.problems if problem.expected}
        assert named
        assert named <= FORM.keys()
        return
    assert (test.room, test.when, test.photo) == ("101", NOW, ""), "room, time and photograph are the page's own"
