"""The drawing: well-formed, complete, and safe against what people type."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree as ET

import hand_made
import pytest

from drainward.report.labels import Labels, around, text_width
from drainward.report.picture import Picture, floor_picture
from drainward.report.picture_svg import picture_svg

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def picture() -> Picture:
    return floor_picture(hand_made.draft(), hand_made.unit(), hand_made.readings())


def _words(svg: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("width", [90.0, 180.0])
def test_it_is_well_formed_and_as_wide_as_asked(picture: Picture, width: float) -> None:
    root = ET.fromstring(picture_svg(picture, width))
    assert root.get("width") == f"{width:.2f}mm"
    box = [float(part) for part in (root.get("viewBox") or "").split()]
    assert box[2] == width
    assert box[3] > width * picture.depth / picture.width * 0.9


def test_it_says_what_a_foreman_looks_for(picture: Picture) -> None:
    words = _words(picture_svg(picture, 180))
    for expected in (
        "drain",
        "opening side",
        "back wall",
        "next: wedge",
        'pond 5/32" (97%)',
        "least fall 1.31 %",
        "1 ft",
    ):
        assert expected in words


def test_the_mortar_plan_names_both_kinds(picture: Picture) -> None:
    words = _words(picture_svg(picture, 180, "mortar"))
    assert {'take out 3/16"', 'put in 1/4"', "take mortar out", "put mortar in"} <= set(words)


def test_readings_beyond_the_opening_stay_clear_of_the_key(picture: Picture) -> None:
    plain = picture_svg(picture, 180)
    outside = replace(picture.readings[0], x=0.5, y=picture.depth + 0.02, x2=0.5, y2=picture.depth + 0.6)
    drawn = picture_svg(replace(picture, readings=(*picture.readings, outside)), 180)
    assert "readings beyond the opening are drawn short" in _words(drawn)
    assert "readings beyond the opening are drawn short" not in _words(plain)
    bottom = 6 + picture.depth * (180 - 11) / picture.width
    rings = [
        float(node.get("cy") or 0) for node in ET.fromstring(drawn).iter(f"{SVG}circle") if node.get("r") == "0.60"
    ]
    assert bottom < max(y for y in rings if y < bottom + 5) <= bottom + 4.01


def test_typed_text_cannot_break_out(picture: Picture) -> None:
    assert picture.next is not None
    odd = replace(picture, next=replace(picture.next, label='</svg><script>"&'))
    assert '</svg><script>"&' in _words(picture_svg(odd, 180))


def test_it_needs_no_colour_for_ponds_and_readings(picture: Picture) -> None:
    drawn = picture_svg(picture, 180)
    assert drawn.count('fill="url(#likely)"') == 2, "the pond and its key are hatched"
    assert "stroke-dasharray" in drawn


def test_same_picture_same_bytes(picture: Picture) -> None:
    assert picture_svg(picture, 150) == picture_svg(picture, 150)


@pytest.mark.parametrize(("width", "show", "message"), [(20.0, "floor", "a picture is wider"), (180.0, "x", "show is")])
def test_bad_use_is_refused(picture: Picture, width: float, show: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        picture_svg(picture, width, show)


def test_words_do_not_cover_each_other() -> None:
    labels = Labels((0, 0, 40, 20))
    first = labels.place("drain", 2.0, around(10, 10, 1, 2.0))
    second = labels.place("drain", 2.0, around(10, 10, 1, 2.0))
    assert first == (11, 10.7, "start")
    assert second is not None
    assert second[2] == "end"
    assert labels.place("x" * 100, 2.0, around(10, 10, 1, 2.0)) is None
    assert labels.insist("x" * 100, 2.0, around(10, 10, 1, 2.0)) in around(10, 10, 1, 2.0)
    assert text_width("drain", 2.0) == pytest.approx(6.0)
