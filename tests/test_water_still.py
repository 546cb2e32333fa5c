"""The still of a water test: what it draws is what the answer says, well-formed and safe."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import hand_made
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.floor.film.result import Play, Pour, Range, Water
from drainward.job.model import Pattern, Puddle
from drainward.report.contour import holds
from drainward.report.water_still import Still, time_steps, water_still
from drainward.report.water_still_svg import still_svg

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def still() -> Still:
    return water_still(hand_made.water(), hand_made.unit())


def _still(**changes: object) -> Still:
    return water_still(hand_made.water(**changes), hand_made.unit())


def _play(until: np.ndarray, depth: np.ndarray | None = None) -> Play:
    play = hand_made.play()
    deep = np.full((2, *until.shape), 0.001, np.float32) if depth is None else depth
    two = np.zeros(2)
    return replace(play, t=np.array([0.0, 600.0]), depth=deep, stream=two, spill=two, left=two, running_until=until)


def _words(svg: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(svg).iter(f"{SVG}text")]


@given(st.floats(0, 3000), st.floats(1, 3600))
def test_times_are_round_rising_few_and_inside(low: float, wide: float) -> None:
    times = time_steps(low, low + wide)
    assert len(times) <= 6
    assert all(low < time < low + wide for time in times)
    assert list(times) == sorted(set(times))
    assert all(time % 5 == 0 for time in times)


def test_a_span_of_a_minute_or_more_has_lines() -> None:
    for low in (20.0, 61.0, 300.0):
        assert len(time_steps(low, 2 * low + 60)) >= 2


def test_lines_lie_where_the_water_stops_at_their_time() -> None:
    gx, gy = np.meshgrid(hand_made.play().x, hand_made.play().y)
    away = np.hypot(gx - 0.2, gy - 0.2)
    drawn = _still(play=_play(60 + 100 * away))
    assert len(drawn.until) >= 3
    for line in drawn.until:
        for x, y in (point for path in line.paths for point in path):
            if math.dist((x, y), (hand_made.WIDTH / 2, hand_made.DEPTH / 2)) > 0.08:
                assert 60 + 100 * math.dist((x, y), (0.2, 0.2)) == pytest.approx(line.until, abs=0.3)


def test_shades_cover_the_floor_once_and_darken_with_time(still: Still) -> None:
    rng = np.random.default_rng(2)
    near = 0
    for x, y in rng.uniform((0.01, 0.01), (hand_made.WIDTH - 0.01, hand_made.DEPTH - 0.01), (300, 2)):
        held = sum(holds(wet.paths, x, y) for wet in still.wet)
        near += held != 1
    assert near <= 3, "but for slivers at simplified edges"
    assert (still.wet[0].low, still.wet[-1].high) == (0.0, math.inf)
    assert [wet.high for wet in still.wet[:-1]] == [line.until for line in still.until]
    greys = [sum(int(wet.colour[k : k + 2], 16) for k in (1, 3, 5)) for wet in still.wet]
    assert greys == sorted(greys, reverse=True)
    assert greys[0] - greys[-1] > 150


def test_standing_water_makes_no_line_late_in_the_day() -> None:
    until = np.full((73, 121), 70.0)
    until[:, :60] = 100.0
    until[30:40, 100:110] = 600.0
    drawn = _still(play=_play(until))
    assert [line.until for line in drawn.until] == [80.0, 90.0]
    assert holds(
        drawn.wet[-1].paths, *(float(axis[k]) for axis, k in ((hand_made.play().x, 105), (hand_made.play().y, 35)))
    )


def test_a_place_that_water_never_covered_is_left_bare() -> None:
    until = np.full((73, 121), 80.0)
    depth = np.full((2, 73, 121), 0.001, np.float32)
    depth[:, :, :30], until[:, :30] = 0.0001, 0.0
    drawn = _still(play=_play(until, depth))
    assert holds(drawn.bare, 0.1, 0.4)
    assert not holds(drawn.bare, 1.0, 0.4)
    assert "never under more than 0.3 mm" in _words(still_svg(drawn, 150))
    dry = _still(play=_play(np.zeros((73, 121)), np.zeros((2, 73, 121), np.float32)))
    assert dry.until == ()
    assert holds(dry.bare, 0.7, 0.2)
    still_svg(dry, 150)


def test_what_was_seen_is_numbered_through_all_tests_as_in_words() -> None:
    water = hand_made.water()
    more = replace(
        water.seen[0], test=hand_made.water_test(puddles=(Puddle(x=0.3, y=0.2, depth=0.003175),), drained=None)
    )
    drawn = water_still(replace(water, seen=(*water.seen, more)), hand_made.unit())
    assert [stain.label for stain in drawn.seen] == ['seen 1, 5/32"', "seen 2", 'seen 3, 1/8"']
    assert [watch.label for watch in drawn.stream.timed] == ["timed 2 min 15 s"]


def test_it_says_what_a_foreman_looks_for(still: Still) -> None:
    words = _words(still_svg(still, 150))
    for expected in (
        "drain",
        "opening side",
        'threshold, 1/2" over the floor beside it',
        'stands 5/32" (97%)',
        'seen 1, 5/32"',
        "seen 2",
        "2 min",
        "drained about 1 min 50 s, 95 %: 1 min 20 s to 2 min 40 s",
        "timed 2 min 15 s",
        "poured",
        "into the drain",
        "0.5 gpm",
        "1.89 L/min",
        "stands for good, more likely than not",
        "may stand: not excluded at 95 %",
        "puddle seen, as wide as it was",
        "puddle seen, width not measured",
    ):
        assert expected in words


def test_the_key_names_only_what_is_there() -> None:
    words = _words(still_svg(_still(seen=(), ponds=(), puddle=np.zeros((73, 121))), 150))
    assert not [word for word in words if "seen" in word or "stand" in word or "timed" in word]


@pytest.mark.parametrize(
    ("lip", "words"), [(0.0, "threshold without a lip"), (math.inf, "threshold"), (0.0095, 'threshold, 3/8" over')]
)
def test_the_threshold_is_named(lip: float, words: str) -> None:
    assert any(word.startswith(words) for word in _words(still_svg(_still(lip=lip), 150)))


def test_where_it_is_poured() -> None:
    at_a_point = _still(pour=Pour(Pattern.AT_A_POINT, hand_made.GALLON, 10.0, 0.3, 0.2))
    assert at_a_point.pour == (0.3, 0.2, "poured here")
    head = _still(pour=Pour(Pattern.SHOWER, hand_made.GALLON, 10.0))
    assert head.pour == (hand_made.WIDTH / 2, hand_made.DEPTH / 2, "shower head")
    assert "shower head" in _words(still_svg(head, 150))
    assert _still().pour is None


@pytest.mark.parametrize(
    ("drained", "words"),
    [
        (Range(80.0, 300.0, math.inf), "drained about 5 min, 95 %: 1 min 20 s to never within an hour"),
        (Range(80.0, math.inf, math.inf), "drained never within an hour, 95 %: 1 min 20 s to never within an hour"),
        (Range(math.inf, math.inf, math.inf), "drained never within an hour"),
        (Range(70.0, 70.0, 70.0), "drained about 1 min 10 s"),
    ],
)
def test_the_end_of_the_stream_even_where_it_never_comes(drained: Range, words: str) -> None:
    drawn = still_svg(_still(drained=drained), 150)
    assert words in _words(drawn)
    assert "nan" not in drawn
    assert "inf" not in drawn


def test_the_time_axis_holds_every_end_that_there_is(still: Still) -> None:
    assert still.stream.end == pytest.approx(1.1 * 164)
    assert _still(drained=Range(80, 300, math.inf)).stream.end == pytest.approx(330)
    assert still.stream.pour == pytest.approx(hand_made.GALLON / 62)


@pytest.mark.parametrize("width", [70.0, 150.0])
def test_it_is_well_formed_as_wide_as_asked_and_stays_inside(still: Still, width: float) -> None:
    drawn = still_svg(still, width)
    root = ET.fromstring(drawn)
    assert root.get("width") == f"{width:.2f}mm"
    height = float((root.get("height") or "").removesuffix("mm"))
    for node in root.iter(f"{SVG}text"):
        assert 0 <= float(node.get("x") or -1) <= width
        assert 0 <= float(node.get("y") or -1) <= height


def test_it_needs_no_colour(still: Still) -> None:
    drawn = still_svg(still, 150)
    assert drawn.count('fill="url(#likely)"') == 2, "the puddle and its key are hatched"
    assert len(re.findall(r"<circle[^>]*stroke-dasharray", drawn)) == 2, "an unmeasured puddle and its key are dashed"


def test_same_answer_same_bytes() -> None:
    assert still_svg(_still(), 150) == still_svg(_still(), 150)


def test_bad_use_is_refused(still: Still) -> None:
    with pytest.raises(ValueError, match="a still is wider"):
        still_svg(still, 20.0)
    empty = replace(hand_made.play(), running_until=np.zeros((0, 0)))
    water: Water = hand_made.water(play=empty)
    with pytest.raises(ValueError, match="carries no water to draw"):
        water_still(water, hand_made.unit())
