"""The picture of a unit in its pocket: its data and its SVG."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import numpy as np
import pytest
from pockets import UNIT, pocket, walls
from shower_units import INCH

from drainward.finding import Verdict
from drainward.pocket.place import place
from drainward.pocket.shape import Wall
from drainward.report.pocket_picture import PlacementPicture, placement_picture
from drainward.report.pocket_svg import placement_svg

SVG = "{http://www.w3.org/2000/svg}"


def picture(
    left: float = 0.5, right: float = 0.25, thick: float = 0.0, core: float = 30.0, goes_in: Verdict = Verdict.MEETS
) -> PlacementPicture:
    faces = [
        (wall, at, z, gap + thick * (wall == Wall.LEFT and at == 18 and z == 40))
        for wall, at, z, gap in walls(left, 0.2, right)
    ]
    made = pocket(faces, core=(core, 18, 3), front=(0, 0))
    return placement_picture(UNIT, made, place(UNIT, made), goes_in)


def words(svg: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(svg).iter(f"{SVG}text")]


def test_every_face_stands_where_it_lies_to_the_unit() -> None:
    drawn = picture()
    assert len(drawn.faces) == 27
    assert drawn.levels == pytest.approx((2 * INCH, 40 * INCH, 78 * INCH), abs=1e-3)
    sides = [face for face in drawn.faces if face.wall is not Wall.BACK]
    assert {face.label for face in sides} == {'3/8"'}
    back = sorted({round(face.along / INCH, 2) for face in drawn.faces if face.wall is Wall.BACK})
    # Moved 1/8 in to the left, the unit has the same studs further to its right; its outside begins 2 in before x = 0.
    np.testing.assert_allclose(back, [4.125, 32.125, 60.125], atol=0.01)


def test_the_core_lies_where_the_drain_is_not() -> None:
    drawn = picture()
    assert drawn.core is not None
    assert (drawn.core[0] - drawn.drain[0]) / INCH == pytest.approx(0.125, abs=1e-3)


def test_it_says_whether_it_goes_in_and_what_binds() -> None:
    good = words(placement_svg(picture(thick=0.6), 180))
    assert any(word.startswith("The unit goes in; largest shim") for word in good)
    assert any("furring here" in word for word in good)
    bad = picture(left=-0.3, right=0.1, goes_in=Verdict.FAILS)
    told = words(placement_svg(bad, 180))
    assert 'The unit does not go in: 1/8" too tight.' in told
    assert any(word.startswith("To let it in: move the") for word in told)
    assert "in the way: to be planed or moved back by so much" in told
    assert {face.label for face in bad.faces if face.mark == "in the way"} == {'-1/8"'}


def test_gaps_are_drawn_wider_and_it_says_by_how_much() -> None:
    told = " ".join(words(placement_svg(picture(), 180)))
    assert "times as wide" in told
    assert "left wall" in told and "back wall" in told and "right wall" in told
    assert 'plan, 2" up' in told and 'plan, 78" up' in told


@pytest.mark.parametrize(("left", "says"), [(0.5, "would go in"), (-0.3, "would not go in")])
def test_what_is_not_proven_is_not_said_to_go_in(left: float, says: str) -> None:
    title = picture(left=left, right=0.1, goes_in=Verdict.NOT_PROVEN).title
    assert title.startswith(f"{says} as the pocket is believed, ") and title.endswith(": not proven")


@pytest.mark.parametrize("width", [80.0, 180.0])
def test_it_is_well_formed_and_stays_on_its_sheet(width: float) -> None:
    root = ET.fromstring(placement_svg(picture(), width))
    box = [float(part) for part in (root.get("viewBox") or "").split()]
    assert box[2] == width
    for node in root.iter(f"{SVG}rect"):
        x, wide = float(node.get("x") or 0), float(node.get("width") or 0)
        y, high = float(node.get("y") or 0), float(node.get("height") or 0)
        assert x >= 0 and x + wide <= width and y >= 0 and y + high <= box[3]


def test_a_sheet_without_room_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 80 mm"):
        placement_svg(picture(), 60)
