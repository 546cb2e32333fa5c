"""What is bought is what rooms need, comes before it is needed, and reads back from CSV and workbook."""

from __future__ import annotations

import csv
import io
from collections import Counter
from datetime import date

import openpyxl
import pytest

from drainward.plan.cutting import Piece
from drainward.plan.takeoff import Packs, RoomNeeds, Takeoff, takeoff
from drainward.quantity import INCH
from drainward.report.takeoff_table import takeoff_csv, takeoff_workbook

LUMBER = (Piece("2x4", 60 * INCH, 2, "brace"), Piece("2x6", 14.5 * INCH, 3, "blocking"))


def room(name: str, ready: date | None, **more: object) -> RoomNeeds:
    needs: dict[str, object] = {
        "mortar": (45.0, 4.0), "adhesive": (1.5, 0.15), "screws": {"#10 × 2 in": 30},
        "shims": {INCH / 8: 7}, "pads": 4, "lumber": LUMBER,
    }  # fmt: skip
    return RoomNeeds(name, ready, **{**needs, **more})  # type: ignore[arg-type]


def building() -> Takeoff:
    return takeoff([
        room("101", date(2026, 3, 4)), room("102", date(2026, 3, 6)), room("201", date(2026, 3, 9)), room("=1+1", None),
    ])  # fmt: skip


def test_everything_comes_by_the_monday_of_its_week() -> None:
    whole = building()
    found = {(thing.what, thing.pack): thing for thing in whole.things}
    shims = found['shim 1/8"', "bundle of 12"]
    assert [(d.week, d.rooms, d.packs) for d in shims.deliveries] == [
        (date(2026, 3, 2), ("101", "102"), 2),  # 14.7 pieces with those to spare
        (date(2026, 3, 9), ("201",), 0),  # 22.05 of 24
        (None, ("=1+1",), 1),
    ]
    assert found["pad", "piece"].packs == 17
    assert found["screw #10 × 2 in", "box of 100"].packs == 2
    feet = [int(pack.split()[0]) * thing.packs for (what, pack), thing in found.items() if what.startswith("lumber")]
    assert sum(feet) == whole.feet


def test_mortar_is_enough_at_the_level_and_no_more_than_each_room_alone() -> None:
    rooms = [room(str(k), date(2026, 3, 2)) for k in range(300)]
    bags = takeoff(rooms).things[0]
    mean, spread = 300 * 45 / Packs().bag, 300**0.5 * 4 / Packs().bag
    assert bags.needed == pytest.approx(mean)
    # z at 99 %, to first order: what rooms share, 3 %, outweighs what they do not
    assert bags.packs == pytest.approx(mean + 2.326 * (spread**2 + (0.03 * mean) ** 2) ** 0.5, rel=0.01)
    assert bags.packs < 3 * 300


def test_bags_that_go_stale_between_rooms_are_bought_too() -> None:
    near = takeoff([room("1", date(2026, 3, 2)), room("2", date(2026, 3, 3))]).things[0]
    far = takeoff([room("1", date(2026, 3, 2)), room("2", date(2026, 4, 13))]).things[0]
    assert far.needed == near.needed + 0.5
    assert far.packs == near.packs + 1


def test_each_delivery_holds_the_pieces_of_its_rooms() -> None:
    found = building()
    for (_, saws), rooms in zip(found.deliveries, (2, 1, 1), strict=True):
        pieces = Counter(
            {saw.section: sum(len(stick.pieces) * stick.count for stick in saw.plan.sticks) for saw in saws}
        )
        assert pieces == {"2x4": 2 * rooms, "2x6": 3 * rooms}
    assert found.feet >= found.least_feet
    assert f"{found.feet} ft of lumber in 3 deliveries" in found.says()


def test_a_building_without_needs_buys_nothing() -> None:
    found = takeoff([RoomNeeds("101")])
    assert (found.things, found.saws, found.deliveries, found.says()) == ((), (), (), "")


def test_csv_reads_back_and_computes_nothing() -> None:
    found = building()
    rows = list(csv.DictReader(io.StringIO(takeoff_csv(found))))
    assert sum(int(row["packs"]) for row in rows) == sum(thing.packs for thing in found.things)
    assert {row["week"] for row in rows} == {"2026-03-02", "2026-03-09", "no date"}
    assert "'=1+1" in {row["rooms"] for row in rows}


def test_workbook_reads_back() -> None:
    found = building()
    book = openpyxl.load_workbook(io.BytesIO(takeoff_workbook(found)))
    assert book.sheetnames == ["buy", "saw list", "saw list, all at once"]
    rows = list(book["buy"].iter_rows(values_only=True))
    assert rows[0] == ("what", "pack", "all", "2026-03-02", "2026-03-09", "no date")
    assert {(row[0], row[1]): row[2] for row in rows[1:]} == {(t.what, t.pack): t.packs for t in found.things}
    assert all(row[2] == sum(cell or 0 for cell in row[3:]) for row in rows[1:])
    assert all(cell.data_type != "f" for sheet in book for line in sheet for cell in line)


def test_json_is_plain() -> None:
    told = building().as_json()
    assert told["things"][0]["what"] == "mortar"
    assert told["saw_lists_by_delivery"][-1]["week"] is None
