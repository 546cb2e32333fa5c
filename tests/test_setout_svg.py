"""The walls in elevation: what must be seen on them, and that the left wall is seen from inside."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from shower_units import level

from drainward.hold.fasten import order
from drainward.job.fittings import Fittings
from drainward.job.model import RuleChoice
from drainward.pocket.backing import backings, conflicts
from drainward.pocket.screws import Wood
from drainward.pocket.setout import FramedWall, Practice, Stud, runs, set_out
from drainward.pocket.shape import Wall
from drainward.pocket.zones import zones
from drainward.quantity import INCH
from drainward.report.fasten_svg import fasten_svg
from drainward.report.setout_svg import Elevation, setout_svg
from drainward.rules import load_rules

UNIT = level(60, 36, (30, 18), 0.5)
SVG = "{http://www.w3.org/2000/svg}"


def drawn(back: tuple[float, ...] = (0.75, 16, 32, 48, 63.25)) -> ET.Element:
    places = {Wall.LEFT: (0.75, 16, 32, 39.5), Wall.BACK: back, Wall.RIGHT: (0.75, 16, 30)}
    walls = {wall: FramedWall(wall, tuple(Stud(at * INCH) for at in studs)) for wall, studs in places.items()}
    choice = RuleChoice()
    every = zones(UNIT, load_rules(choice), choice.shower, Fittings(seat="left"))
    flanges = runs(UNIT)
    needs = backings(every, walls, UNIT, Wood(0.42), 0.5 * INCH)
    against = conflicts(every, walls, flanges, UNIT)
    picture = setout_svg([
        Elevation(
            walls[wall],
            UNIT.outside_width if wall is Wall.BACK else UNIT.outside_depth,
            86 * INCH,
            tuple(set_out(walls[wall], run, Practice()) for run in flanges if run.wall is wall),
            tuple(zone for zone in every if zone.wall is wall),
            tuple(piece for need in needs if need.zone.wall is wall for piece in need.add),
            tuple(c for c in against if c.zone.wall is wall),
        )
        for wall in (Wall.RIGHT, Wall.LEFT, Wall.BACK)
    ])  # fmt: skip
    return ET.fromstring(picture)


def words(picture: ET.Element) -> list[tuple[str, float]]:
    return [(t.text or "", float(t.get("x", "0"))) for t in picture.iter(f"{SVG}text") if t.get("stroke") is None]


def test_walls_stand_left_back_right_with_their_zones_and_pieces() -> None:
    said = words(drawn())
    place = dict(said)
    assert place["left wall"] < place["back wall"] < place["right wall"]
    assert {'bar 33" to 36"', 'seat 17" to 19"', 'controls 37-1/2" to 48"', 'add 14-1/2"'} <= set(place)
    assert any(text.startswith("add a stud") for text, _ in said)


def test_the_left_wall_is_seen_from_inside() -> None:
    said = words(drawn())
    middle = next(x for text, x in said if text == "left wall")
    corner = min(x for text, x in said if text == "0")
    assert corner > middle


def test_a_dot_for_wood_a_ring_for_wood_to_add() -> None:
    picture = drawn()
    fills = [c.get("fill") for c in picture.iter(f"{SVG}circle")]
    assert fills.count("#fff") > 5 and fills.count("#1a1a1a") > 10
    assert "holes" in (picture.get("aria-label") or "") and "blocking to add" in (picture.get("aria-label") or "")


def test_what_stands_in_the_way_is_written_over_its_zone() -> None:
    said = " ".join(text for text, _ in words(drawn(back=(0.75, 6, 12, 18, 24, 30, 46, 63.25))))
    assert "between studs for the" in said
    assert "between studs for the" not in " ".join(text for text, _ in words(drawn()))


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="one wall or more"):
        setout_svg([])


def test_every_screw_has_its_number_where_it_goes_in() -> None:
    walls = [
        Elevation(
            FramedWall(wall, tuple(Stud(at * INCH) for at in (0.75, 16, 32, 39.5))), UNIT.outside_depth, 86 * INCH
        )
        for wall in (Wall.LEFT, Wall.RIGHT)
    ]
    walls = [
        replace(
            one, layouts=tuple(set_out(one.wall, run, Practice()) for run in runs(UNIT) if run.wall is one.wall.wall)
        )
        for one in walls
    ]
    turns = order(layout for wall in walls for layout in wall.layouts)
    picture = ET.fromstring(fasten_svg(walls, turns))
    seen = {part.text: part for part in picture.iter(f"{SVG}text") if (part.text or "").isdigit()}
    assert sorted(map(int, seen)) == [turn.number for turn in turns]
    low, high = (float(seen[str(turn.number)].get("y", "")) for turn in (turns[0], turns[-1]))
    assert low > high, "the first is at the floor"
    assert float(seen["1"].get("x", "")) < float(seen["2"].get("x", "")), "left, then right"
    with pytest.raises(ValueError, match="one wall or more"):
        fasten_svg([], turns)
