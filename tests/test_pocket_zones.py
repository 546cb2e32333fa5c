"""Zones of bars, seat and controls by the rules, the wood behind them, and what stands in their way."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shower_units import level

from drainward.finding import Verdict
from drainward.job.fittings import Fittings
from drainward.job.model import RuleChoice
from drainward.pocket.backing import backings, conflicts, with_backing, zone_findings
from drainward.pocket.order import before
from drainward.pocket.screws import SPECIES, Mount, Wood, holds
from drainward.pocket.setout import Blocking, FramedWall, Practice, Stud, runs, set_out
from drainward.pocket.shape import Wall
from drainward.pocket.zones import Zone, zones
from drainward.quantity import INCH
from drainward.rules import load_rules

ROLL_IN = level(60, 36, (30, 18), 0.5)
TRANSFER = level(36, 36, (18, 18), 0.5)
SPF = Wood(SPECIES["spruce-pine-fir"])
WALLS = {
    Wall.LEFT: FramedWall(Wall.LEFT, tuple(Stud(at * INCH) for at in (0.75, 16, 32, 39.25))),
    Wall.BACK: FramedWall(Wall.BACK, tuple(Stud(at * INCH) for at in (0.75, 16, 32, 48, 63.25))),
    Wall.RIGHT: FramedWall(Wall.RIGHT, tuple(Stud(at * INCH) for at in (0.75, 16, 32, 39.25))),
}


def found(shower: str = "standard roll-in", *use: str, unit=ROLL_IN, **fittings) -> dict[tuple[str, Wall], Zone]:  # type: ignore[no-untyped-def]
    choice = RuleChoice(use=use or ("us-ada-2010",), shower=shower)
    return {(z.kind, z.wall): z for z in zones(unit, load_rules(choice), shower, hung(fittings))}


def hung(told: dict[str, object]) -> Fittings:
    return Fittings.model_validate(
        {key: value.name.lower() if isinstance(value, Wall) else value for key, value in told.items()}
    )


def box(zone: Zone) -> tuple[float, ...]:
    return tuple(round(v / INCH, 4) for v in (zone.start, zone.end, zone.low, zone.high))


def test_standard_roll_in_without_a_seat_has_bars_on_three_walls() -> None:
    got = found()
    assert {wall for kind, wall in got if kind == "grab bar"} == set(Wall)
    assert box(got["grab bar", Wall.BACK]) == (6, 54, 33, 36)
    assert box(got["grab bar", Wall.LEFT]) == (6, 30, 33, 36)
    assert box(got["controls", Wall.BACK]) == (0, 60, 37.5, 48)
    assert ("seat", Wall.LEFT) not in got
    assert got["grab bar", Wall.BACK].force == pytest.approx(1112, abs=0.5)


def test_standard_roll_in_with_a_seat_has_none_above_it_and_its_controls_by_it() -> None:
    got = found(seat=Wall.LEFT)
    assert {wall for kind, wall in got if kind == "grab bar"} == {Wall.BACK, Wall.RIGHT}
    assert box(got["grab bar", Wall.BACK])[:2] == (16, 54)
    assert box(got["controls", Wall.BACK])[:2] == (0, 27)
    assert box(got["seat", Wall.LEFT])[2:] == (17, 19)
    mirrored = found(seat=Wall.RIGHT)
    assert box(mirrored["controls", Wall.BACK])[:2] == (33, 60)
    assert box(mirrored["grab bar", Wall.BACK])[:2] == (6, 44)
    california = found("standard roll-in", "us-ada-2010", "us-california", seat=Wall.LEFT)
    assert box(california["controls", Wall.BACK])[:2] == (16, 27)


def test_transfer_has_its_controls_opposite_the_seat() -> None:
    got = found("transfer", unit=TRANSFER, seat=Wall.RIGHT)
    assert {wall for kind, wall in got if kind == "grab bar"} == {Wall.LEFT, Wall.BACK}
    assert box(got["grab bar", Wall.BACK])[:2] == (0, 18)
    assert box(got["controls", Wall.LEFT]) == (17.25, 32.25, 38, 48)
    assert box(found("transfer", unit=TRANSFER, seat=Wall.LEFT)["grab bar", Wall.BACK])[:2] == (18, 36)


def test_alternate_roll_in_has_bars_away_from_its_entry() -> None:
    got = found("alternate roll-in", entry=Wall.LEFT)
    assert {wall for kind, wall in got if kind == "grab bar"} == {Wall.BACK, Wall.RIGHT}
    assert box(got["controls", Wall.RIGHT])[:2] == (0, 36)


def test_alternate_roll_in_with_a_seat_has_its_controls_beside_or_opposite_it() -> None:
    """The seat stands from 1-1/2 in off the far wall to 3 in from the 36 in entry: its middle is 11-1/4 in off it."""
    beside = found("alternate roll-in", seat="front", entry="left")
    assert box(beside["controls", Wall.RIGHT])[:2] == (9, 36)
    opposite = found("alternate roll-in", seat="front", entry="left", controls="back")
    assert box(opposite["controls", Wall.BACK])[:2] == (33.75, 60)
    mirrored = found("alternate roll-in", seat="front", entry="right", controls="back")
    assert box(mirrored["controls", Wall.BACK])[:2] == (0, 26.25)


def test_other_rule_sets_move_the_heights() -> None:
    australia = found("standard roll-in", "au-as1428-2009", seat=Wall.LEFT)
    assert australia["grab bar", Wall.BACK].low == pytest.approx(0.8)
    assert australia["seat", Wall.LEFT].high == pytest.approx(0.48)
    germany = found("standard roll-in", "de-din18040")
    assert (germany["grab bar", Wall.BACK].low, germany["grab bar", Wall.BACK].high) == pytest.approx((0.83, 0.87))
    assert found("standard roll-in", "us-plumbing-ipc") == {}


def test_rules_that_leave_no_height_are_a_conflict() -> None:
    both = found("standard roll-in", "us-ada-2010", "au-as1428-2009")
    bar = both["grab bar", Wall.BACK]
    assert not bar.possible
    (clash,) = conflicts([bar], WALLS, (), ROLL_IN)
    assert clash.why == "the picked rules leave no place for it"
    assert backings([bar], WALLS, ROLL_IN, SPF, 0.02) == ()
    (finding,) = zone_findings([bar], (), [clash])
    assert finding.verdict is Verdict.FAILS and "33 in to 36 in" in finding.limit and "800 mm" in finding.limit


def test_a_bar_asks_for_blocking_in_every_bay_it_crosses() -> None:
    bar = found()["grab bar", Wall.BACK]
    (need,) = backings([bar], WALLS, ROLL_IN, SPF, 0.5 * INCH)
    assert [(round(p.start / INCH, 3), round(p.end / INCH, 3)) for p in need.add] == [
        (1.5, 15.25), (16.75, 31.25), (32.75, 47.25), (48.75, 62.5),
    ]  # fmt: skip
    assert all(piece.bottom <= 31 * INCH and piece.top >= 36 * INCH for piece in need.add)
    assert need.screw is not None and need.count is not None and need.count <= 3
    each = holds(need.screw, SPF, 0.5 * INCH)
    assert need.count * each >= bar.force
    done = with_backing(WALLS, [need])
    (again,) = backings([bar], done, ROLL_IN, SPF, 0.5 * INCH)
    assert again.add == ()
    assert [f.verdict for f in zone_findings([bar], [again], [])] == [Verdict.MEETS]


def test_backing_that_is_too_low_or_too_short_does_not_count() -> None:
    bar = found()["grab bar", Wall.LEFT]
    for piece in (Blocking(1.5 * INCH, 15.25 * INCH, 20 * INCH, 27 * INCH),
                  Blocking(1.5 * INCH, 12 * INCH, 30 * INCH, 37.25 * INCH)):  # fmt: skip
        walls = {Wall.LEFT: replace(WALLS[Wall.LEFT], blocking=(piece,))}
        (need,) = backings([bar], walls, ROLL_IN, SPF, 0.5 * INCH)
        assert len(need.add) == 2


def test_no_screw_at_hand_says_so() -> None:
    bar = found()["grab bar", Wall.LEFT]
    (need,) = backings([bar], WALLS, ROLL_IN, Wood(0.31), 2.5 * INCH, Mount(holes=2))
    assert (need.screw, need.count) == (None, None)
    (finding,) = zone_findings([bar], [need], [])
    assert "ask for a bolted plate" in finding.advice and finding.verdict is Verdict.FAILS


def test_a_valve_between_close_studs_has_no_bay() -> None:
    controls = found(seat=Wall.LEFT)["controls", Wall.BACK]
    assert conflicts([controls], WALLS, (), ROLL_IN) == ()
    close = FramedWall(Wall.BACK, tuple(Stud(at * INCH) for at in (0.75, 6, 12, 18, 24, 30)))
    (clash,) = conflicts([controls], {Wall.BACK: close}, (), ROLL_IN)
    assert clash.why.startswith('no 6" between studs for the valve')
    crossed = replace(WALLS[Wall.BACK], blocking=(Blocking(0.0, 1.0, 1.0, 1.18),))
    (clash,) = conflicts([controls], {Wall.BACK: crossed}, (), ROLL_IN)
    assert "blocking crosses every bay" in clash.why


def test_a_bar_whose_end_lies_on_the_front_flange() -> None:
    bar = replace(found()["grab bar", Wall.LEFT], end=40 * INCH)
    assert [c.why for c in conflicts([bar], WALLS, runs(ROLL_IN), ROLL_IN)] == [
        "its end lies on the left wall, front flange"
    ]
    high = replace(bar, end=30 * INCH, high=84 * INCH)
    assert [c.do for c in conflicts([high], WALLS, runs(ROLL_IN), ROLL_IN)] == ['keep it below 82-13/16"']


def test_what_must_be_in_before_the_unit() -> None:
    every = list(found().values())
    needs = backings(every, WALLS, ROLL_IN, SPF, 0.5 * INCH)
    bare = FramedWall(Wall.LEFT, WALLS[Wall.LEFT].studs[1:])
    layouts = [set_out(bare, run, Practice()) for run in runs(ROLL_IN) if run.wall is Wall.LEFT]
    flange = sum(len(layout.add) for layout in layouts)
    order = before(layouts, needs, every, behind=[Wall.RIGHT])
    said = {(b.what, b.before) for b in order}
    assert flange > 0
    assert ("4 pieces of blocking for the grab bar on the back wall, to carry 250 lbf", "the unit is set") in said
    assert (
        "2 pieces of blocking for the grab bar on the right wall, to carry 250 lbf",
        "the far side is closed",
    ) in said
    assert ("valve, its pipes and the riser in the back wall, tested", "the unit is set") in said
    assert any(
        what.endswith("for the flange on the left wall") for what, then in said if then == "the unit is fastened"
    )
    assert order[0].before == "the unit is set"
    piped = next(k for k, one in enumerate(order) if one.before == "the blocking is nailed up")
    assert "the pipes of the valve in the back wall" in order[piped].what
    assert any("grab bar on the back wall" in later.what for later in order[piped + 1 :])


def test_heights_that_the_job_chose_are_asked_of_the_rules() -> None:
    got = found(grab_bar_height=34 * INCH, controls_height=42 * INCH)
    assert box(got["grab bar", Wall.BACK])[2:] == (34, 34)
    assert box(got["controls", Wall.BACK])[2:] == (42, 42)
    assert conflicts(got.values(), WALLS, (), ROLL_IN) == ()
    high = found(grab_bar_height=38 * INCH, controls_height=39 * INCH)
    why = [clash.why for clash in conflicts(high.values(), WALLS, (), ROLL_IN)]
    assert why.count('the job puts it 38" up, outside 33" to 36"') == 3
    # Too near the bar below, whose own height is wrong.
    assert why[-1] == 'the job puts it 39" up, outside 39-1/2" to 48"'
    (bar,) = (f for f in zone_findings([high["grab bar", Wall.LEFT]], [], conflicts(high.values(), WALLS, (), ROLL_IN)))
    assert bar.verdict is Verdict.FAILS and '38" up' in bar.limit


def test_a_bar_that_the_rules_ask_for_and_the_job_leaves_out_fails() -> None:
    got = found(grab_bars=("left", "back"))
    assert [zone.hung for zone in got.values() if zone.kind == "grab bar"] == [True, True, False]
    clashes = conflicts(got.values(), WALLS, (), ROLL_IN)
    assert [clash.zone.wall for clash in clashes] == [Wall.RIGHT]
    needs = backings(got.values(), WALLS, ROLL_IN, SPF, 0.02)
    assert {need.zone.wall for need in needs} == {Wall.LEFT, Wall.BACK}
    told = {f.id: f.verdict for f in zone_findings(got.values(), needs, clashes)}
    assert told["zone/grab-bar-right"] is Verdict.FAILS


def test_a_valve_at_a_chosen_height_takes_its_room_round_it() -> None:
    valve = found(controls_height=42 * INCH)["controls", Wall.BACK]
    for top, clash in ((38.5, False), (40.0, True)):
        board = Blocking(0.0, 1.7, 30 * INCH, top * INCH)
        assert bool(conflicts([valve], {Wall.BACK: replace(WALLS[Wall.BACK], blocking=(board,))}, (), ROLL_IN)) is clash


def test_a_row_only_remembered_leaves_a_zone_open() -> None:
    bar = found("transfer", unit=TRANSFER, seat=Wall.RIGHT)["grab bar", Wall.BACK]
    (finding,) = zone_findings([bar], [], [])
    assert finding.verdict is Verdict.NOT_PROVEN and "us-ada-2010/608.3.1" in finding.advice
    assert finding.as_json()["verdict"] == "not proven"


def test_a_seat_beside_an_entry_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match='a seat at the "front" is for an alternate roll-in'):
        found(seat="front")


def test_a_bar_beyond_the_last_stud_asks_for_wood_there_too() -> None:
    bar = found()["grab bar", Wall.RIGHT]
    short = {Wall.RIGHT: FramedWall(Wall.RIGHT, (Stud(0.75 * INCH), Stud(16 * INCH)))}
    (need,) = backings([bar], short, ROLL_IN, SPF, 0.5 * INCH)
    assert [round(piece.start / INCH, 3) for piece in need.add] == [1.5, 16.75]
    assert need.add[-1].end > 30 * INCH
    (bare,) = backings([bar], {Wall.RIGHT: FramedWall(Wall.RIGHT, ())}, ROLL_IN, SPF, 0.5 * INCH)
    assert len(bare.add) == 1
