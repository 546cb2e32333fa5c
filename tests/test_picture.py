"""The picture as data: what it shows is what the draft says."""

from __future__ import annotations

import json
from dataclasses import replace

import hand_made
import numpy as np
import pytest

from drainward.report.contour import holds
from drainward.report.picture import Picture, floor_picture, inches


@pytest.fixture(scope="module")
def picture() -> Picture:
    return floor_picture(hand_made.draft(), hand_made.unit(), hand_made.readings())


def test_it_is_plain_json(picture: Picture) -> None:
    plain = picture.as_json()
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert {"width", "depth", "drain", "contours", "bands", "ponds", "arrows", "readings", "high_spots", "next",
            "mortar", "scale"} <= set(plain)  # fmt: skip


def test_it_is_small_enough_for_a_phone(picture: Picture) -> None:
    assert len(json.dumps(picture.as_json())) < 150_000


def test_contours_lie_at_their_level(picture: Picture) -> None:
    floor = hand_made.draft().map
    assert 6 <= len(picture.contours) <= 14
    for line in picture.contours:
        assert inches(line.level) == line.label
        for x, y in (point for path in line.paths for point in path):
            row, column = np.searchsorted(floor.y, y) - 1, np.searchsorted(floor.x, x) - 1
            cell = floor.mean[max(row, 0) : row + 2, max(column, 0) : column + 2]
            assert cell.min() - 1e-4 <= line.level <= cell.max() + 1e-4


def test_bands_cover_the_floor_once(picture: Picture) -> None:
    rng = np.random.default_rng(1)
    for x, y in rng.uniform((0.01, 0.01), (hand_made.WIDTH - 0.01, hand_made.DEPTH - 0.01), (300, 2)):
        # Simplified edges may leave or share a sliver as wide as the slack.
        assert sum(holds(band.paths, x, y) for band in picture.bands) in (
            (1,) if not _near_edge(picture, x, y) else (0, 1, 2)
        )


def test_bands_grow_lighter_with_height(picture: Picture) -> None:
    greys = [sum(int(band.colour[k : k + 2], 16) * w for k, w in ((1, 0.299), (3, 0.587), (5, 0.114)))
             for band in picture.bands]  # fmt: skip
    assert greys == sorted(greys)
    assert greys[-1] - greys[0] > 60


def test_the_pond_is_drawn_where_the_draft_has_it(picture: Picture) -> None:
    likely = [pond for pond in picture.ponds if pond.chance == 0.5]
    assert len(likely) == 1
    assert holds(likely[0].paths, 1.15, 0.68)
    assert likely[0].depth == 0.0042
    assert likely[0].probability == 0.97
    assert likely[0].label == '5/32" (97%)'


def test_specks_are_left_out_unless_the_draft_names_a_pond_there() -> None:
    draft = hand_made.draft()
    pond = np.zeros_like(draft.map.pond)
    pond[10, 10] = pond[40, 60] = 1.0
    draft = replace(draft, map=replace(draft.map, pond=pond))
    named = replace(draft, ponds=(replace(draft.ponds[0], x=draft.map.x[10], y=draft.map.y[10], probability=0.999),))
    drawn = floor_picture(named, hand_made.unit(), ()).ponds
    assert [area.label for area in drawn if area.chance == 0.5] == ['5/32" (>99%)']
    assert all(holds(area.paths, 1.0, 1.0) is False for area in drawn)


def test_a_rejected_reading_is_marked_and_numbers_follow_the_table(picture: Picture) -> None:
    assert [mark.rejected for mark in picture.readings] == [False, True, False, False, False, False]
    assert [mark.number for mark in picture.readings] == [1, 2, 3, 4, 5, 6]
    assert picture.readings[0].label == '1/2"'


def test_mortar_outlines_hold_their_places(picture: Picture) -> None:
    assert [bed.do for bed in picture.mortar] == ["take out", "put in"]
    assert all(holds(bed.paths, bed.x, bed.y) for bed in picture.mortar)


def test_mortar_at_a_wall_has_its_outline_too() -> None:
    draft = hand_made.draft()
    gx, gy = np.meshgrid(draft.map.x, draft.map.y)
    corner = 0.004 - 0.02 * np.hypot(gx, gy - hand_made.DEPTH)
    assert draft.mend is not None
    mend = replace(draft.mend, mortar=(replace(draft.mend.mortar[0], x=0.0, y=hand_made.DEPTH),))
    (bed,) = floor_picture(
        replace(draft, mend=mend, map=replace(draft.map, mortar=corner)), hand_made.unit(), ()
    ).mortar
    assert holds(bed.paths, 0.05, hand_made.DEPTH - 0.05)


def test_nothing_to_ask_and_nothing_to_mend() -> None:
    bare = floor_picture(hand_made.draft(next_reading=None, mend=None, ponds=()), hand_made.unit(), ())
    assert bare.next is None
    assert bare.mortar == ()
    assert bare.readings == ()
    assert bare.as_json()["next"] is None


def test_a_level_floor_is_one_band_without_lines() -> None:
    draft = hand_made.draft()
    level = replace(draft, map=replace(draft.map, mean=np.zeros_like(draft.map.mean)))
    flat = floor_picture(level, hand_made.unit(), ())
    assert flat.contours == ()
    assert len(flat.bands) == 1
    assert holds(flat.bands[0].paths, 0.5, 0.5)


def test_an_empty_map_is_refused() -> None:
    draft = hand_made.draft()
    empty = replace(draft, map=replace(draft.map, mean=np.zeros((0, 0))))
    with pytest.raises(ValueError, match="the draft carries no map of the floor"):
        floor_picture(empty, hand_made.unit(), ())


def _near_edge(picture: Picture, x: float, y: float) -> bool:
    return any(abs(x - px) + abs(y - py) < 0.03 for line in picture.contours for path in line.paths for px, py in path)
