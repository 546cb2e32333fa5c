"""What is bought is what rooms take, comes before it is wanted, and reads back from CSV and workbook."""

from __future__ import annotations

import csv
import io
import json
import math
from collections import Counter
from datetime import date, timedelta

import numpy as np
import openpyxl
import pytest
from bed_cases import good_room
from surveys import INCH, UNIT, job, survey
from takeoffs import JOB, bare, building, room

from drainward.bed.buy import Need, pooled
from drainward.bed.mix import bag_yield
from drainward.job.materials import Mortar
from drainward.job.model import Delivered, SettingEvent, Work
from drainward.plan.guess import guess
from drainward.plan.needs import all_needs, room_needs
from drainward.plan.standing import Stand, made
from drainward.plan.takeoff import Bought, Takeoff, takeoff
from drainward.pocket.stage import dry_set_stage, set_stage
from drainward.report.takeoff_svg import mortar_svg
from drainward.report.takeoff_table import takeoff_csv, takeoff_workbook
from drainward.report.takeoff_words import mortar_words, notes

MONDAY = date(2026, 3, 2)


def things(found: Takeoff) -> dict[str, Bought]:
    return {thing.what: thing for thing in found.things}


def test_everything_comes_by_the_monday_of_its_week() -> None:
    found = building()
    shims = things(found)['shim 1/8"']
    assert shims.pack == "bundle of 12"
    assert [(d.week, d.rooms, d.packs) for d in shims.deliveries] == [
        (date(2026, 3, 2), ("101", "102"), 2),  # 17.5 pieces with those to spare
        (date(2026, 3, 9), ("201",), 1),  # 26.25
        (None, ("=1+1",), 0),  # 35 of 36
    ]
    assert things(found)['screw #10 × 2"'].packs == 2
    feet = [
        int(what.split(", ")[1].split()[0]) * thing.packs for what, thing in things(found).items() if "lumber" in what
    ]
    assert sum(feet) == found.feet
    assert [week.week for week in found.mortar] == [date(2026, 3, 2), date(2026, 3, 9), None]


def test_mortar_is_enough_at_the_level_and_no_more_than_each_room_alone() -> None:
    found = takeoff(JOB, [room(str(k), MONDAY) for k in range(300)], certainty=0.99)
    bags, shared = things(found)["mortar"], bag_yield(Mortar()).shared
    assert bags.needed == pytest.approx(600)
    spread = math.hypot(300**0.5 * 0.15, shared * 600)
    assert bags.u == pytest.approx(spread)
    assert bags.packs == pytest.approx(600 + 2.326 * spread, rel=0.01)
    assert found.alone == 900
    assert "rounded up room by room it would be 900 bags" in " ".join(notes(found))


def test_without_a_certainty_it_is_what_costs_least() -> None:
    assert building().level == pytest.approx(1800 / 1818)


def test_bags_that_go_stale_between_rooms_are_bought_too() -> None:
    near = takeoff(JOB, [room("1", MONDAY), room("2", MONDAY + timedelta(1))])
    far = takeoff(JOB, [room("1", MONDAY), room("2", MONDAY + timedelta(42))])
    assert far.mortar[-1].lost == 0.5 and near.mortar[-1].lost == 0
    assert things(far)["mortar"].needed == things(near)["mortar"].needed + 0.5
    assert "0.5 more go stale in opened bags" in " ".join(notes(far))


def test_bags_on_hand_are_what_came_less_what_was_used() -> None:
    found = building()
    came = 0
    used = 0.0
    for week in found.mortar:
        came, used = came + week.come, used + week.bags
        assert week.left == pytest.approx(came - used - week.lost)
        assert week.left > 0
        assert week.water == pytest.approx(week.bags * Mortar().water_per_bag)


def test_a_room_not_surveyed_is_bought_for_as_its_model_and_all_such_are_off_alike() -> None:
    known = [room(str(k), MONDAY, mortar=(2.0 + 0.1 * (k % 5), 0.05)) for k in range(10)]
    found = takeoff(JOB, [*known, *(bare(f"b{k}", MONDAY) for k in range(90))])
    assert found.guessed == tuple(f"b{k}" for k in range(90)) == found.uncounted == found.ceilings
    bags = things(found)["mortar"]
    assert bags.needed == pytest.approx(100 * 2.2)
    like = guess([n.mortar[0] for n in known if n.mortar], 0.25 * 2.2)
    square = 10 * 0.05**2 + 90 * like.sd**2 + (90 * like.u) ** 2 + (bag_yield(Mortar()).shared * 220) ** 2
    assert bags.u == pytest.approx(square**0.5)
    told = " ".join(notes(found))
    assert "Rooms b0, b1, b2, b3, b4, b5 and 84 more: the bed is not known yet" in told
    assert things(found)["lumber 2x8, rooms not surveyed"].needed == pytest.approx(4 * 90, rel=0.01)


def test_a_guess_keeps_its_promise_over_made_up_buildings() -> None:
    rng = np.random.default_rng(3)
    short, buildings = 0, 1500
    for _ in range(buildings):
        mean, sd = rng.uniform(1.5, 3), 0.25 * 2.0
        known, rest = rng.normal(mean, sd, 6), rng.normal(mean, sd, 60)
        like = guess(known.tolist(), 0.5)
        needs = [Need(str(k), like.mean, like.sd, kin="U60", u_kin=like.u) for k in range(60)]
        short += rest.sum() > pooled(needs, 0.0, 0.95)
    assert short / buildings <= 0.075


def test_without_any_survey_two_bags_serve_an_ordinary_unit() -> None:
    found = takeoff(JOB, [bare("1", MONDAY)])
    assert things(found)["mortar"].needed == pytest.approx(2 * 1.4 / (60 * 36 * INCH**2))
    assert not any("screw" in what for what in things(found))


def test_a_model_that_nobody_surveyed_is_scaled_by_its_floor() -> None:
    found = takeoff(JOB, [room("1", MONDAY), bare("2", MONDAY, "other")])
    assert things(found)["mortar"].needed == pytest.approx(4.0)


def test_bags_really_used_change_what_the_others_are_bought_by() -> None:
    used = [room(f"u{k}", MONDAY, used=(2.2, 0.02)) for k in range(20)]
    found = takeoff(JOB, [*used, room("next", MONDAY)])
    assert found.measured == 20 and 1.04 < found.factor.factor < 1.1
    assert things(found)["mortar"].needed == pytest.approx(20 * 2.2 + found.factor.factor * 2.0)
    assert things(found)["mortar"].u < 0.2, "what was used is known"
    assert "20 beds took" in " ".join(notes(found))
    again = takeoff(JOB, [room("u", MONDAY, used=(4.4, 0.04), relaid=True), room("next", MONDAY)])
    assert again.measured == 0 and again.factor.factor == 1.0


def test_what_came_is_taken_off_what_is_still_to_come() -> None:
    whole = building()
    stick = next(what for what in things(whole) if what.startswith("lumber 2x4"))
    rows = [("Mortar", 5.0), ("mortar", -1.0), (stick, 1.0), ("morter", 3.0), ("lumber 2x10, 8 ft", 2.0)]
    came = tuple(
        Delivered(when=MONDAY, what=what, packs=packs, file="delivered.csv", line=line)
        for line, (what, packs) in enumerate(rows, 2)
    )
    needs = [room("101", MONDAY), room("102", date(2026, 3, 6)), room("201", date(2026, 3, 9)), room("=1+1", None)]
    found = takeoff(JOB.model_copy(update={"delivered": came}), needs)
    assert things(found)["mortar"].came == 4
    assert things(found)["mortar"].packs == things(whole)["mortar"].packs - 4
    assert things(found)[stick].packs == things(whole)[stick].packs - 1
    spare = things(found)["lumber 2x10, 8 ft"]
    assert (spare.came, spare.needed, spare.packs) == (2, 0, 0)
    assert [problem.line for problem in found.problems] == [5]
    assert "is nothing that takeoff lists" in str(found.problems[0])
    assert mortar_words(found).startswith(f"{things(found)['mortar'].packs} bags of mortar still to come")


def test_a_plan_moves_what_is_bought() -> None:
    found = takeoff(JOB, [room("1", MONDAY)], dates={"1": (date(2026, 5, 6), date(2026, 5, 11))})
    assert found.mortar[0].week == date(2026, 5, 4)
    assert found.days[0].week == date(2026, 5, 4)


def test_braces_serve_one_room_after_another() -> None:
    part = ("2x4", 1.5, "board")
    days = [Stand(str(k), MONDAY + timedelta(k), 4, {part: 2}) for k in range(30)]
    assert made(days) == {MONDAY: {part: 8}}
    assert made(days, sets=2) == {MONDAY: {part: 4}}
    at_once = [Stand(str(k), None, 4, {part: 2}) for k in range(5)]
    assert made(at_once) == {None: {part: 10}}
    assert made([*days, *at_once], sets=1) == {MONDAY: {part: 2}}
    with pytest.raises(ValueError, match="one set"):
        made(days, sets=0)


def test_each_delivery_holds_the_pieces_of_its_rooms() -> None:
    found = building()
    for day, (rooms, sets) in zip(found.days, ((2, 1), (1, 1), (1, 0)), strict=True):
        pieces = Counter(
            {saw.section: sum(len(stick.pieces) * stick.count for stick in saw.plan.sticks) for saw in day.saws}
        )
        assert pieces == Counter({"2x4": 6 * sets, "2x8": 3 * rooms}) + Counter()
        assert sum(cut.count for cut in day.cuts) == pieces.total()
        assert len({cut.mark for cut in day.cuts}) == len(day.cuts)
    blocks = found.days[0].cuts[-1]
    assert (blocks.uses, blocks.rooms) == ((("blocking", 6),), (("101", 3), ("102", 3)))
    assert found.feet >= found.least_feet


def test_a_job_without_needs_buys_nothing() -> None:
    found = takeoff(JOB, [])
    assert (found.things, found.saws, found.days, notes(found)) == ((), (), (), ())
    assert mortar_svg(found, 190) == "" and mortar_words(found) == ""


def test_csv_reads_back_and_computes_nothing() -> None:
    found = building()
    rows = list(csv.DictReader(io.StringIO(takeoff_csv(found))))
    assert sum(int(row["packs"]) for row in rows) == sum(thing.packs for thing in found.things)
    assert {row["week"] for row in rows} == {"2026-03-02", "2026-03-09", "no date"}
    assert "'=1+1" in {row["rooms"] for row in rows}


def test_workbook_reads_back() -> None:
    found = building()
    book = openpyxl.load_workbook(io.BytesIO(takeoff_workbook(found)))
    assert book.sheetnames == ["buy", "mortar", "saw list", "pieces", "saw list, all at once"]
    rows = list(book["buy"].iter_rows(values_only=True))
    assert rows[0][5:] == ("to come", "2026-03-02", "2026-03-09", "no date")
    assert {row[0]: row[5] for row in rows[1:]} == {t.what: t.packs for t in found.things}
    assert all(row[5] == sum(cell or 0 for cell in row[6:]) for row in rows[1:])
    assert all(cell.data_type != "f" for sheet in book for line in sheet for cell in line)
    pieces = list(book["pieces"].iter_rows(min_row=2, values_only=True))
    assert sum(row[4] for row in pieces) == sum(cut.count for day in found.days for cut in day.cuts)


def test_json_is_plain() -> None:
    told = json.loads(json.dumps(building().as_json(), allow_nan=False))
    assert told["things"][0]["what"] == "mortar"
    assert told["saw_lists_by_delivery"][-1]["week"] is None


def test_a_surveyed_room_takes_what_its_stages_compute() -> None:
    made_up = good_room()
    done = SettingEvent(
        id="a",
        room="1",
        what=Work.MORTAR_USED,
        value=45.0,
        u=0.9,
        when="2026-03-02T08:00",  # type: ignore[arg-type]
    )
    found = room_needs(made_up.model_copy(update={"setting": (done,)}), made_up.rooms[0])
    assert found.bedded and found.mortar is not None and 0.5 < found.mortar[0] < 5
    assert found.used == pytest.approx((45.0 / Mortar().bag_mass, 0.9 / Mortar().bag_mass))
    assert found.screws == Counter({'#10 × 2"': sum(line.count for line in set_stage(made_up, "1").screws)})
    dry = [shim.thickness for shim in dry_set_stage(made_up, "1").placed.shims if shim.thickness > INCH / 32]
    assert found.shims is not None and sum(found.shims.values()) == len(dry)
    assert sum(thick * count for thick, count in found.shims.items()) >= sum(dry) - 1e-9
    assert found.blocking is not None
    assert found.pads > 3 and found.wedges >= 4 and found.stands == UNIT.minimum_cure
    posts = [piece.length / (INCH / 2) for piece in found.braces if piece.use == "post"]
    assert posts and all(abs(length - round(length)) < 1e-9 for length in posts)


def test_a_bare_room_still_has_braces_and_adhesive() -> None:
    told: list[tuple[str, float]] = []
    bare_room = all_needs(job(survey(room="1"), rooms="2"), lambda name, share: told.append((name, share)))[0]
    assert (bare_room.mortar, bare_room.screws, bare_room.shims, bare_room.blocking) == (None, None, None, None)
    assert bare_room.tubes > 1 and bare_room.braces and not bare_room.ceiling
    assert told == [("2", 0.0)]
