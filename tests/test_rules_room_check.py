"""The room's rules: what was measured, what was not, circle or T, and which unit would do."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shower_units import level

from drainward.finding import Finding, Verdict
from drainward.job.model import Job, Measure, Room, RuleChoice, UnitModel, What
from drainward.rules import load_rules
from drainward.rules.room_check import Sizes, room_findings, room_sizes, which_units

INCH = 0.0254
U = 0.03 * INCH
ADA = "us-ada-2010/"
DOOR, CIRCLE, SQUARE, ARM = (f"{ADA}{row}" for row in ("404.2.3", "304.3.1", "304.3.2-square", "304.3.2-arm"))
UNIT = level(60, 36, (30, 18), 0.5)


def judged(sizes: Sizes | None = None, unit: UnitModel = UNIT, **choice: Any) -> dict[str, Finding]:
    job = Job(name="job", rules=RuleChoice(**choice))
    room = Room(room="101", unit=unit.id)
    return {f.id: f for f in room_findings(job, load_rules(job.rules), room, unit, sizes or {})}


def sized(**inches: float) -> dict[str, tuple[float, float]]:
    return {name.replace("__", "."): (value * INCH, U) for name, value in inches.items()}


def test_what_nobody_measured_is_asked_for_and_the_cut_sheet_stands_in_for_the_unit() -> None:
    found = judged()
    assert found[DOOR].verdict is Verdict.NOT_PROVEN and found[DOOR].value is None
    assert found[DOOR].advice.startswith("Open the door square and measure")
    assert found[f"{ADA}304.2"].advice.startswith("Read the floor outside")
    assert found[f"{ADA}608.2.2-width"].value == pytest.approx(60 * INCH)
    assert found["us-plumbing-irc-2021/P2708.1-area"].verdict is Verdict.MEETS
    assert f"{ADA}404.2.4.1-push-latch" not in found
    assert f"{ADA}303.3-bevel" not in found


@pytest.mark.parametrize(("width", "verdict"), [(33, Verdict.MEETS), (30, Verdict.FAILS), (32, Verdict.NOT_PROVEN)])
def test_the_door(width: float, verdict: Verdict) -> None:
    finding = judged(sized(door__clear_width=width))[DOOR]
    assert finding.verdict is verdict
    assert ("measure again" in finding.advice) == (verdict is Verdict.NOT_PROVEN)


def test_a_door_with_closer_and_latch_is_asked_once_it_was_measured() -> None:
    assert judged(sized(door__push_latch=10))[f"{ADA}404.2.4.1-push-latch"].verdict is Verdict.FAILS


def test_the_shower_s_own_door_is_not_the_room_s() -> None:
    found = judged(sized(door__clear_width=24), use=("us-plumbing-upc-2024",))
    assert "us-plumbing-upc-2024/408.5-door" in found
    assert found["us-plumbing-upc-2024/408.5-door"].value == pytest.approx(60 * INCH)


def test_circle_or_tee() -> None:
    both_open = judged()
    assert CIRCLE in both_open and SQUARE not in both_open
    assert "A T will do instead" in both_open[CIRCLE].advice
    tee = judged(sized(turning__diameter=56, turning__t_square=61, turning__t_arm=37))
    assert CIRCLE not in tee and {tee[SQUARE].verdict, tee[ARM].verdict} == {Verdict.MEETS}
    circle = judged(sized(turning__diameter=61, turning__t_square=50))
    assert circle[CIRCLE].verdict is Verdict.MEETS and SQUARE not in circle
    half = judged(sized(turning__diameter=56))
    assert half[CIRCLE].verdict is Verdict.NOT_PROVEN
    neither = judged(sized(turning__diameter=56, turning__t_square=50))
    assert neither[CIRCLE].verdict is Verdict.FAILS and "A T will do" not in neither[CIRCLE].advice


def test_a_rise_that_is_not_all_upright_asks_for_its_bevel() -> None:
    steep = sized(threshold__rise=0.45, threshold__vertical=0.2)
    assert judged(steep)[f"{ADA}303.3-bevel"].verdict is Verdict.NOT_PROVEN
    assert judged(steep | {"threshold.bevel": (0.4, 0.01)})[f"{ADA}303.3-bevel"].verdict is Verdict.MEETS
    assert judged(steep | {"threshold.bevel": (0.7, 0.01)})[f"{ADA}303.3-bevel"].verdict is Verdict.FAILS
    assert f"{ADA}303.3-bevel" not in judged(sized(threshold__rise=0.2, threshold__vertical=0.2))


def test_a_wide_transfer_unit_is_to_be_flush() -> None:
    found = judged(sized(threshold__flush=0.05), shower="transfer")
    assert found["practice/flush-transfer"].verdict is Verdict.MEETS
    assert "practice/flush-transfer" not in judged(shower="transfer", unit=level(36, 36, (18, 18), 0.5))
    assert "practice/flush-transfer" not in judged()


def test_plumbing_sizes_come_from_the_sides_unless_measured() -> None:
    small = judged(sized(inside__width=31, inside__depth=28))
    assert small["us-plumbing-irc-2021/P2708.1-area"].verdict is Verdict.FAILS
    assert small["us-plumbing-irc-2021/P2708.1-least"].verdict is Verdict.FAILS
    upc = judged(sized(inside__width=33, inside__depth=32), use=("us-plumbing-upc-2024",))
    assert upc["us-plumbing-upc-2024/408.7-area"].verdict is Verdict.MEETS
    assert judged({"inside.area": (0.3, 0.001)})["us-plumbing-irc-2021/P2708.1-area"].verdict is Verdict.FAILS


@pytest.mark.parametrize("rules", ["de-din18040", "au-as1428-2009", "uk-adm"])
def test_sets_from_elsewhere_have_doors_and_floor_space(rules: str) -> None:
    found = judged(sized(door__clear_width=28), use=(rules,))
    doors = [f for f in found.values() if f.what.lower().startswith(("door", "wheelchair user dwelling, door"))]
    assert any(f.verdict is not Verdict.MEETS and f.value is not None for f in doors)
    asked = {"de-din18040/movement-width", "au-as1428-2009/15.6-length", "uk-adm/m4-3-turning"}
    assert asked & set(found)


def test_unknown_quantity_is_refused() -> None:
    with pytest.raises(ValueError, match=r"no rule limits door\.colour"):
        judged({"door.colour": (1.0, 0.1)})


def test_sizes_of_the_room_list_and_of_the_survey() -> None:
    room = Room(room="101", unit="u", surveyed={"door width": 0.8, "clearance length": 1.6, "width": 1.5})
    assert {q: v for q, (v, _) in room_sizes(room).items()} == {"door.clear_width": 0.8, "clearance.length": 1.6}
    better = Measure(id="m", room="101", what=What.DOOR_WIDTH, value=0.82, u=0.0005)
    other = Measure(id="n", room="102", what=What.DOOR_WIDTH, value=0.7, u=0.0001)
    assert room_sizes(room, [better, other])["door.clear_width"] == (0.82, 0.0005)


@given(st.floats(0.2, 3), st.floats(0.2, 3))
def test_more_room_never_makes_it_worse(a: float, b: float) -> None:
    order = [Verdict.FAILS, Verdict.NOT_PROVEN, Verdict.MEETS]
    small, large = sorted((a, b))
    got = [judged({"door.clear_width": (w, U), "clearance.length": (w, U)}) for w in (small, large)]
    for row in (DOOR, f"{ADA}608.2.2.1-length"):
        assert order.index(got[0][row].verdict) <= order.index(got[1][row].verdict)


def test_which_units_fit_and_meet() -> None:
    units = {u.id: u for u in (level(60, 36, (30, 18), 0.5, "good"), level(54, 36, (27, 18), 0.5, "narrow"),
                               level(60, 36, (30, 18), 0.5, "large"))}  # fmt: skip
    job = Job(name="job", rules=RuleChoice(use=("us-ada-2010",)), units=units)
    room = Room(room="101", unit="good", surveyed={"inside width": 1.0})
    table = which_units(job, load_rules(job.rules), room, lambda u: Verdict.FAILS if u.id == "large" else Verdict.MEETS)
    rows = {row.unit.id: row for row in table}
    assert table[0].unit.id == "good"
    assert rows["large"].verdict is Verdict.FAILS and rows["large"].fits is Verdict.FAILS
    assert rows["narrow"].rules is Verdict.FAILS
    assert "us-ada-2010/608.2.2-width@narrow" in {f.id for f in rows["narrow"].against}
    said = rows["narrow"].as_json()
    assert (said["unit"], said["verdict"], said["fits"]) == ("narrow", "fails", "meets")
    assert {row["verdict"] for row in said["against"]} <= {"fails", "not proven"}
