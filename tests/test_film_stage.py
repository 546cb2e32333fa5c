"""The water test from readings and recorded tests to answer, on floors known exactly."""

from __future__ import annotations

import json
import math
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from floor_cases import INCH, reading
from water_cases import DISH, GALLON, SAMPLES, SIDE, UNIT, WITHOUT_LIP, dished, job, poured, read, sound, stage

from drainward.errors import StageError
from drainward.finding import Finding, Verdict
from drainward.floor.film import Water, water_stage
from drainward.floor.film.result import Play
from drainward.floor.film.stage import _in_order
from drainward.floor.shape import edge_run
from drainward.job.model import Pattern, Puddle, ReadingKind
from drainward.job.model import Water as Wetting

READ = read()
AT_DISH = Puddle(x=DISH[0], y=DISH[1], across=5 * INCH, depth=0.004)
DEEP = Puddle(x=DISH[0], y=DISH[1], across=5 * INCH, depth=0.006)
NOON = datetime.fromisoformat("2026-03-09T12:00")


def found(water: Water, id: str) -> Finding:
    return next(finding for finding in water.findings if finding.id == id)


def there(water: Water) -> float:
    """Chance that a pond that counts stands where the hollow is."""
    return max((p.probability for p in water.ponds if math.dist((p.x, p.y), DISH) < 3 * INCH), default=0.0)


def told(water: Water) -> bytes:
    arrays = [getattr(water.play, name).tobytes() for name in ("x", "y", "t", "depth", "stream", "spill", "left")]
    return json.dumps(water.as_json()).encode() + b"".join(arrays) + water.puddle.tobytes()


@pytest.fixture(scope="module")
def doubtful() -> tuple[Any, ...]:
    """Readings so coarse that the hollow may hold a pond, or not."""
    return read(dished, 6, 0.001)


def test_before_anything_is_poured_it_says_what_the_gallon_will_show() -> None:
    water = stage(READ)
    assert water.seen == () and water.samples == SAMPLES and water.used == len(READ)
    assert water.pour.poured == GALLON and water.pour.over == 60.0
    assert 30.0 < water.drained.low < 60.0 < water.drained.likely < water.drained.high < 600.0
    assert 0.0 < water.left.low <= water.left.likely <= water.left.high < GALLON / 10
    assert water.standing.high < 1e-6 and water.spilled.high == 0.0
    assert water.freeboard.low > 0.0 and water.reynolds < 500
    assert found(water, "practice/pond").verdict is Verdict.MEETS
    unmeasured = ("us-ada-2010/608.6-temperature", "us-plumbing-irc-2021/P2903.2-flow", "practice/puddle")
    assert {found(water, id).verdict for id in unmeasured} == {Verdict.NOT_PROVEN}
    assert all(found(water, id).advice for id in unmeasured), "each says what to measure"
    assert water.verdict is Verdict.NOT_PROVEN and "water/agreement" not in {f.id for f in water.findings}


def test_a_good_test_of_a_sound_floor_meets() -> None:
    good = poured(drained=120.0, hottest=46.0, flow=1.4e-4)
    water = stage(READ, (good,))
    assert water.verdict is Verdict.MEETS
    assert found(water, "water/agreement").verdict is Verdict.MEETS
    assert water.next_reading is None


def test_a_puddle_seen_raises_the_chance_of_a_pond_there_and_none_seen_lowers_it(doubtful: tuple[Any, ...]) -> None:
    unseen, seen, none = (there(stage(doubtful, tests)) for tests in ((), (poured(AT_DISH),), (poured(),)))
    assert 0.2 < unseen < 0.8
    assert seen > unseen + 0.2
    assert none < unseen - 0.2


def test_a_puddle_is_believed_where_nobody_read() -> None:
    few = read(sound, 3)
    assert there(stage(few)) < 0.05
    assert there(stage(few, (poured(DEEP, soap=True),))) > 0.8


def test_a_soaped_deep_puddle_counts_for_more_than_a_shallow_unsoaped_one() -> None:
    few = read(sound, 3)
    deep, shallow = DEEP, DEEP.model_copy(update={"depth": 0.002})
    chance = [there(stage(few, (poured(puddle, soap=soap),))) for puddle, soap in ((deep, True), (shallow, False))]
    assert chance[0] > chance[1] + 0.5


def test_none_seen_settles_a_floor_that_the_readings_leave_open(doubtful: tuple[Any, ...]) -> None:
    before, after = (found(stage(doubtful, tests), "practice/pond") for tests in ((), (poured(),)))
    assert before.probability is not None and after.probability is not None
    assert after.probability > before.probability + 0.3
    assert before.interval is not None and after.interval is not None
    assert after.interval[1] < before.interval[1]


def test_the_last_test_by_time_conditions_and_is_shown(doubtful: tuple[Any, ...]) -> None:
    first = poured(AT_DISH, id="first", when=NOON, poured=2 * GALLON, over=120.0)
    last = poured(id="last", when=NOON + timedelta(hours=1))
    both, alone = stage(doubtful, (last, first)), stage(doubtful, (last,))
    assert [seen.test.id for seen in both.seen] == ["first", "last"]
    assert both.pour == alone.pour and both.ponds == alone.ponds
    assert found(both, "practice/pond") == found(alone, "practice/pond")
    assert both.seen[-1] == alone.seen[-1]
    assert both.seen[0].weight == 1.0 > both.seen[-1].weight


def test_tests_without_a_time_come_first_as_they_stand() -> None:
    tests = [
        poured(id=id, when=when) for id, when in (("b", NOON), ("x", None), ("a", NOON - timedelta(1)), ("y", None))
    ]
    assert [test.id for test in _in_order(tuple(tests))] == ["x", "y", "a", "b"]


def test_heat_and_flow_are_the_last_that_anybody_measured() -> None:
    hot, then = poured(drained=120.0, hottest=55.0, when=NOON), poured(drained=120.0, when=NOON + timedelta(hours=1))
    heat = found(stage(READ, (hot, then)), "us-ada-2010/608.6-temperature")
    assert heat.value == 55.0 and heat.verdict is Verdict.FAILS


def test_no_readings_at_all_is_answered_and_says_where_to_read_first() -> None:
    water = stage()
    assert water.used == 0 and water.rejected == ()
    assert found(water, "practice/pond").verdict is Verdict.NOT_PROVEN
    assert water.next_reading is not None and "standing water" in water.next_reading.why
    wide, narrow = (w.overflow.high - w.overflow.low for w in (water, stage(READ)))
    assert wide > 3 * narrow, "an unread floor is less certain"


def test_a_contradiction_in_the_readings_holds_the_test_open() -> None:
    bad = reading(ReadingKind.HEIGHT, 0.3, 0.3, value=0.05, u=0.0003, id="bad", line=99)
    water = stage((*READ, bad), (poured(drained=120.0, hottest=46.0, flow=1.4e-4),))
    assert [r.line for r in water.rejected] == [99]
    assert water.verdict is Verdict.NOT_PROVEN
    assert water.next_reading is not None and (water.next_reading.x, water.next_reading.y) == (0.3, 0.3)


@pytest.mark.parametrize("room", ["9", "2"])
def test_a_room_or_a_unit_that_the_job_lacks_is_refused(room: str) -> None:
    with pytest.raises(StageError, match=room):
        water_stage(job(), room, (), (), samples=SAMPLES)


def test_progress_goes_from_nothing_to_done_and_never_back() -> None:
    shares: list[float] = []
    words: list[str] = []

    def watch(what: str, share: float) -> None:
        words.append(what)
        shares.append(share)

    # A puddle that nobody expects makes it draw floors again: the longest way through.
    test = poured(DEEP, soap=True, drained=120.0)
    water_stage(job(), "1", read(sound, 3), (test,), samples=8, threads=1, progress=watch)
    assert shares[0] == 0.0 and shares[-1] == 1.0
    assert all(a <= b for a, b in pairwise(shares)), shares
    assert all(words)


def test_one_seed_gives_one_answer_whatever_the_threads_and_another_seed_another() -> None:
    tests = (poured(AT_DISH, drained=120.0),)
    once = stage(READ, tests)
    again = water_stage(job(), "1", READ, tests, samples=SAMPLES, threads=2)
    other = water_stage(job(), "1", READ, tests, samples=SAMPLES, threads=1, seed=5)
    assert told(once) == told(again)
    assert told(once) != told(other)


def waters() -> dict[str, Water]:
    return {
        "unread": stage(),
        "read": stage(READ),
        "unexpected": stage(read(sound, 3), (poured(DEEP, soap=True),)),
        "two tests": stage(
            READ,
            (poured(drained=120.0, hottest=55.0, when=NOON), poured(drained=120.0, when=NOON + timedelta(hours=1))),
        ),
        "flush": stage(READ, (), WITHOUT_LIP),
    }


@pytest.mark.parametrize("name", ["unread", "read", "unexpected", "two tests", "flush"])
def test_the_json_is_plain_and_finite_or_null(name: str) -> None:
    answer = waters()[name].as_json()
    assert json.loads(json.dumps(answer, allow_nan=False)) == _listed(answer)
    assert answer["schema"] == 1 and answer["stage"] == "water test" and answer["room"] == "1"
    for key in ("drained", "left", "standing", "lip_depth", "spilled", "shower_depth", "freeboard", "overflow"):
        assert set(answer[key]) == {"low", "likely", "high"}
        ends = [
            value for value in (answer[key]["low"], answer[key]["likely"], answer[key]["high"]) if value is not None
        ]
        assert ends == sorted(ends)
    assert len(answer["tests"]) == {"unexpected": 1, "two tests": 2}.get(name, 0)


def _listed(value: Any) -> Any:
    """With lists for tuples, as JSON has them."""
    if isinstance(value, dict):
        return {key: _listed(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_listed(one) for one in value]
    assert isinstance(value, (str, int, float, type(None))) and not isinstance(value, np.generic), type(value)
    return value


def test_a_flush_threshold_spills_and_says_so() -> None:
    kept, lost = stage(READ), stage(READ, (), WITHOUT_LIP)
    assert found(kept, "practice/spilled").verdict is Verdict.MEETS
    spilled = found(lost, "practice/spilled")
    assert spilled.verdict is Verdict.FAILS and "lip" in spilled.advice
    assert 0 < lost.spilled.low <= lost.spilled.high < GALLON / 10, "only what falls by the opening"
    assert lost.lip == 0.0 and lost.freeboard.high < 0.0 < kept.freeboard.low
    assert lost.play.spill.max() > 0.0 and kept.play.spill.max() == 0.0


def test_with_the_drain_blocked_a_known_floor_overflows_when_it_is_full() -> None:
    """The cone under the lip's level, by hand: its volume over the flow of the shower."""
    n = 400
    middle = (np.arange(n) + 0.5) * SIDE / n
    gx, gy = np.meshgrid(middle, middle)
    crest = 0.03 * (SIDE / 2 - UNIT.drain.radius) + UNIT.threshold_height
    volume = float(np.maximum(crest - sound(gx, gy), 0.0).mean()) * SIDE**2
    assert float(edge_run(UNIT, np.array(np.pi / 2))) == pytest.approx(SIDE / 2), "the nearest of the opening"
    flow = Wetting().flow
    assert stage(READ).overflow.likely == pytest.approx(volume / flow, rel=0.03)
    twice = stage(READ, (), UNIT, water=Wetting(flow=2 * flow))
    assert twice.overflow.likely == pytest.approx(volume / flow / 2, rel=0.03)
    assert twice.shower == 2 * flow and twice.shower_depth.likely > stage(READ).shower_depth.likely


def test_a_shower_of_more_than_the_drain_takes_is_refused_by_the_jobs_own_flow() -> None:
    asked = found(stage(READ, (), UNIT, water=Wetting(flow=8e-4)), "practice/drain-capacity")
    assert asked.verdict is Verdict.FAILS and "set by the job" in asked.limit
    assert found(stage(READ), "practice/drain-capacity").verdict is Verdict.MEETS


def test_the_depth_that_counts_is_the_jobs() -> None:
    strict = stage(read(dished), (), UNIT, pond_counts=0.001)
    loose = stage(read(dished), (), UNIT, pond_counts=0.008)
    assert (
        found(strict, "practice/pond").verdict is Verdict.FAILS
        and found(loose, "practice/pond").verdict is Verdict.MEETS
    )
    assert loose.ponds == () and there(strict) > 0.9


def test_what_hangs_is_by_the_jobs_own_angles() -> None:
    """2 l sin(angle / 2), l = 2.73 mm at 20 degC: 1.41, 2.73 and 3.32 mm at 30, 60 and 75 degrees."""
    usual, wider = stage(READ), stage(READ, (), UNIT, water=Wetting(contact_angle=(60.0, 75.0)))
    assert (usual.hang.least, usual.hang.most) == pytest.approx((1.41e-3, 3.32e-3), abs=0.01e-3)
    assert wider.hang.least == pytest.approx(2.73e-3, abs=0.01e-3)
    assert usual.hang.length == pytest.approx((usual.hang.most - usual.hang.least) / usual.hang.fall)
    assert usual.hang.fall == pytest.approx(0.03, rel=0.1)
    assert usual.hang.volume[1] <= GALLON and usual.hang.dip >= usual.hang.most
    dip = f"{1e3 * usual.hang.dip:.1f} mm"
    assert dip in found(usual, "practice/pond").advice


@pytest.mark.parametrize(
    ("how", "place"), [(Pattern.AT_A_POINT, (0.2, 0.7)), (Pattern.SHOWER, (0.7, 0.2)), (Pattern.SHOWER, (None, None))]
)
def test_water_falls_where_it_is_poured(how: Pattern, place: tuple[float | None, float | None]) -> None:
    x, y = place
    water = stage(READ, (poured(how=how, x=x, y=y, over=20.0),))
    assert water.pour.how is how and (water.pour.x, water.pour.y) == place
    play = water.play
    cx, cy = (SIDE / 2 if v is None else v for v in place)
    first = play.depth[1]
    assert play.t[1] < 0.5
    middle = (first * play.x).sum() / first.sum(), (first * play.y[:, None]).sum() / first.sum()
    assert math.dist(middle, (cx, cy)) < 3 * INCH
    off = np.hypot(play.x[None, :] - cx, play.y[:, None] - cy) > 10 * INCH
    assert first[off].max() < 1e-6 < first.max()
    assert astray(play, 20.0) < 0.03 * GALLON


def test_a_bucket_drains_sooner_than_a_gallon_over_the_floor() -> None:
    bucket = stage(READ, (poured(how=Pattern.AT_A_POINT, x=0.2, y=0.7, over=20.0),))
    assert bucket.drained.likely < stage(READ).drained.likely - 30.0


def test_a_bucket_beside_the_floor_is_refused() -> None:
    with pytest.raises(StageError, match="beside the floor"):
        stage(READ, (poured(how=Pattern.AT_A_POINT, x=SIDE + 0.04, y=0.1, over=20.0),))


def astray(play: Play, over: float) -> float:
    """Most of the gallon that, at any time, is neither on the floor nor gone down the drain or over the lip, m3."""
    fell = np.minimum(play.t / over, 1.0) * GALLON
    gone = np.concatenate([[0.0], np.cumsum(np.diff(play.t) * (play.stream + play.spill)[1:])])
    return float(np.abs(play.left + gone - fell).max())


def test_what_is_played_keeps_its_books() -> None:
    play = stage(READ).play
    assert play.t[0] == 0.0 and (np.diff(play.t) > 0).all() and (play.depth >= 0).all()
    assert astray(play, 60.0) < 0.03 * GALLON
    shape = (len(play.t), len(play.y), len(play.x))
    assert play.depth.shape == shape and play.running_until.shape == shape[1:]
    assert play.running_until.max() <= play.t[-1]
