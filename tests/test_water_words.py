"""The words of the water test that page, paper and terminal share."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import UTC, datetime

import hand_made
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.finding import Verdict
from drainward.floor.film.result import Pour, Range, Seen
from drainward.job.model import Pattern, Puddle
from drainward.quantity import parse_duration, parse_volume
from drainward.report import water_words as words
from drainward.report.water_words import Spread

OUNCE = hand_made.OUNCE


def _told(**changes: object) -> words.Recorded:
    """The recorded test of `hand_made.water`, written down otherwise."""
    water = hand_made.water()
    seen = replace(water.seen[0], test=hand_made.water_test(**changes))
    return words.recorded(replace(water, seen=(seen,)))[0]


def test_a_test_that_was_not_as_computed_comes_first() -> None:
    said = words.water_headline(hand_made.water())
    assert said.says == "Not proven: water test as seen beside the water computed from the readings."
    assert said.todo.startswith("The puddle in the front left is not what the readings let expect. Read: the gap under")
    assert said.todo.endswith("It crosses the puddle that no reading tells of.")


def test_of_several_tests_the_last_that_was_not_as_computed_is_told() -> None:
    water = hand_made.water()
    first = replace(water.seen[0], says="an older one", ask=None)
    agrees = replace(water.seen[0], agrees=True, says="all as computed")
    assert words.water_headline(replace(water, seen=(first, agrees))).todo == "An older one."
    later = replace(first, says="the later one")
    assert words.water_headline(replace(water, seen=(first, later))).todo == "The later one."


def test_before_any_test_it_says_what_to_pour() -> None:
    pour = (
        "Now pour: 1 gal (3.79 L) over the floor within 1 min 2 s, time it, and write down every puddle or that "
        "there is none."
    )
    water = hand_made.water(seen=(), next_reading=None)
    assert words.water_headline(water).todo == pour
    meets = replace(water, verdict=Verdict.MEETS, findings=water.findings[:2])
    assert words.water_headline(meets).says == "Meets: 2 findings, each within its limit."
    assert words.water_headline(meets).todo == pour
    aside = replace(meets, findings=(*meets.findings, replace(meets.findings[0], decides=False)))
    assert words.water_headline(aside).todo.startswith("Not counted: 1 limit only remembered")


def test_what_fails_is_mended_before_anything_is_poured() -> None:
    water = hand_made.water(seen=())
    fails = replace(water.findings[2], verdict=Verdict.FAILS)
    said = words.water_headline(replace(water, verdict=Verdict.FAILS, findings=(fails,)))
    assert said.todo == "Lay the straightedge across the puddle in the front left."


def test_a_floor_still_open_is_read_first() -> None:
    said = words.water_headline(hand_made.water(seen=()))
    assert said.todo.startswith("Read next: the gap under the middle of a straightedge")


def test_what_a_gallon_will_show() -> None:
    assert words.expected(hand_made.water()) == (
        "1 gal (3.79 L) over the floor within 1 min 2 s. The stream into the drain breaks up into drops after about "
        "1 min 50 s, 95 %: 1 min 20 s to 2 min 40 s. Then about 4 fl oz is left on the floor (120 mL; 95 %: 2.1 to "
        "7.5 fl oz), about 1.1 fl oz of it in ponds."
    )
    none = Range(0.0, 0.0, 0.0)
    bare = words.expected(hand_made.water(standing=none, left=none, spilled=Range(0.0, OUNCE, 3 * OUNCE)))
    assert bare.endswith(
        "Then none is left on the floor. Over the threshold goes about 1 fl oz (30 mL), 95 %: up to 3 fl oz."
    )


@pytest.mark.parametrize(
    ("of", "unit", "expected"),
    [
        (Range(81.0, 112.0, 164.0), "s", Spread("about 1 min 50 s", "", "1 min 20 s to 2 min 40 s", "")),
        (Range(95.0, 128.0, math.inf), "s",
         Spread("about 2 min 10 s", "", "1 min 35 s to never within an hour", "")),
        (Range(math.inf, math.inf, math.inf), "s", Spread("never within an hour", "", "", "")),
        (Range(80.0, 140.0, 140.0), "s", Spread("about 2 min 20 s", "", "1 min 20 s to 2 min 20 s", "")),
        (Range(0.2 * OUNCE, 1.13 * OUNCE, 2.9 * OUNCE), "m3",
         Spread("about 1.1 fl oz", "33 mL", "0.2 to 2.9 fl oz", "5.9 to 86 mL")),
        (Range(0.0, 0.0, 0.0), "m3", Spread("none", "", "", "")),
        (Range(0.0, 0.0, OUNCE), "m3", Spread("none", "", "up to 1 fl oz", "up to 30 mL")),
        (Range(8 * OUNCE, 0.004, 0.02), "m3",
         Spread("about 1.1 gal", "4 L", "8 fl oz to 5.3 gal", "240 mL to 20 L")),
        (Range(0.0051, 0.0066, 0.0089), "m", Spread('about 1/4"', "6.6 mm", "0.20 to 0.35 in", "5.1 to 8.9 mm")),
        (Range(0.0001, 0.0002, 0.002), "m", Spread('under 1/32"', "0.2 mm", "0.00 to 0.08 in", "0.1 to 2.0 mm")),
        (Range(-0.004, -0.002, 0.0), "m", Spread('about -3/32"', "-2.0 mm", "-0.16 to 0.00 in", "-4.0 to 0.0 mm")),
        (Range(0.00552, 0.0056, 0.00568), "m", Spread('about 7/32"', "5.6 mm", "0.22 in", "5.5 to 5.7 mm")),
        (Range(math.nan, math.nan, math.nan), "m", Spread("not known", "", "", "")),
    ],
)  # fmt: skip
def test_ranges(of: Range, unit: str, expected: Spread) -> None:
    assert words.spread(of, unit) == expected


def test_a_range_in_one_line() -> None:
    assert str(words.spread(Range(81, 112, 164), "s")) == "about 1 min 50 s, 95 %: 1 min 20 s to 2 min 40 s"
    assert str(words.spread(Range(0.0, 0.0, 0.0), "m3")) == "none"


@given(st.floats(1.0, 7200.0))
def test_a_time_is_written_to_some_four_percent_and_read_back(seconds: float) -> None:
    written = words.spread(Range(seconds, seconds, seconds), "s").trade.removeprefix("about ")
    assert parse_duration(written).value == pytest.approx(seconds, abs=0.5, rel=0.0425)


@given(st.floats(1.1e-6, 0.1))
def test_a_volume_is_written_to_two_digits_in_both_units(volume: float) -> None:
    written = words.spread(Range(volume, volume, volume), "m3")
    for text in (written.trade.removeprefix("about "), written.si):
        assert parse_volume(text).value == pytest.approx(volume, rel=0.05)
        assert len(re.sub(r"[^\d]", "", text).strip("0")) <= 2


def test_every_range_of_the_stage_is_answered() -> None:
    told = words.answered(hand_made.water())
    assert len(told) == 9
    assert told[3].spread == Spread("0.4 to 5 fl oz", "12 to 150 mL", "", ""), "no chance stands behind a skin's bounds"
    assert [one.aside for one in told if one.aside] == [
        "on a sound floor", 'lip 1/2" (12.7 mm)', "at 2.5 gpm (9.46 L/min)", "under 0: it runs out",
    ]  # fmt: skip
    assert words.answered(hand_made.water(lip=math.inf))[4].aside == "no way out there"


def test_what_may_stay_by_the_water_s_skin_and_when_a_patch_counts() -> None:
    hang = hand_made.water().hang
    said = words.hang_says(hang)
    for part in ('1/16" to 1/8" (1.4 to 3.3 mm) thick', '4-3/4" (122 mm) long', "0.19 in/ft (1.56 %)",
                 "in all 0.4 to 5 fl oz (12 to 150 mL)", "no pond"):  # fmt: skip
        assert part in said
    soap, counts, else_ = words.hang_rule(hang)
    assert "dish soap" in soap
    assert '9/64" (3.5 mm)' in counts
    assert "refills to the same outline" in counts
    assert "chord reading" in else_
    assert "in all up to 5 fl oz (up to 150 mL)" in words.hang_says(replace(hang, volume=(0.0, 5 * OUNCE)))


def test_a_recorded_test_as_it_was_written_down() -> None:
    told = _told(
        when=datetime(2026, 3, 4, 14, 5, tzinfo=UTC), hottest=48.0, flow=1.5e-4, soap=True, note="twice", photo="a.jpg"
    )
    assert told.when == "2026-03-04 14:05, Ana B."
    assert told.poured == "1 gal (3.79 L) over the floor within 1 min 2 s"
    assert told.drained == "2 min 15 s until drops"
    assert told.computed == (
        "computed about 1 min 50 s, 95 %: 1 min 20 s to 2 min 40 s; so far off or farther 40 in 100"
    )
    assert told.looked == "2 seen; to be expected 2 in 100"
    assert told.puddles == (
        (1, '45-1/4" from the left, 26-3/4" from the back, 4" across, 5/32" (4.0 mm) deep'),
        (2, '11-3/4" from the left, 27-1/2" from the back, depth not measured'),
    )
    assert told.soap == "wiped with soap"
    assert told.measured.startswith("hottest water 118 ± 2 °F (48.0 ± 1.0 °C), flow 2.38")
    assert told.agrees == "not as computed"
    assert told.causes == (
        "Puddles: a dip that no reading crosses, 81 in 100",
        "Puddles: water that hangs by itself, 19 in 100",
    )
    assert told.tell.startswith("Read: the gap under the middle of a straightedge")
    assert (told.note, told.photo) == ("twice", "a.jpg")


def test_what_nobody_did_is_said_or_left_out() -> None:
    water = hand_made.water()
    seen = Seen(hand_made.water_test(drained=None, puddles=None, who=""), None, water.drained, None, None, (), None, "",
                1.0)  # fmt: skip
    (told,) = words.recorded(replace(water, seen=(seen,)))
    assert (told.drained, told.looked, told.agrees) == (
        "nobody timed it", "nobody looked for puddles", "nothing to compare",
    )  # fmt: skip
    assert told.when == told.measured == told.says == told.tell == ""
    assert "40 in 100" not in told.computed
    assert told.soap == "no soap: a film may hang by its skin"
    assert _told(puddles=()).looked.startswith("no puddle seen")


def test_puddles_are_numbered_on_through_all_tests() -> None:
    water = hand_made.water()
    third = replace(water.seen[0], test=hand_made.water_test(puddles=(Puddle(x=0.1, y=0.1),)))
    none = replace(water.seen[0], test=hand_made.water_test(puddles=None))
    told = words.recorded(replace(water, seen=(water.seen[0], none, third)))
    assert [[number for number, _ in one.puddles] for one in told] == [[1, 2], [], [3]]


@pytest.mark.parametrize(
    ("pour", "expected"),
    [
        (Pour(Pattern.OVER_THE_FLOOR, hand_made.GALLON, 60.0), "1 gal (3.79 L) over the floor within 1 min"),
        (Pour(Pattern.AT_A_POINT, 0.01, 5.0), "2.64 gal (10 L) at one point, in the middle, within 5 s"),
        (Pour(Pattern.SHOWER, 0.01, 90.0, 0.3048, 0.1016),
         '2.64 gal (10 L) from a shower head, 12" from the left, 4" from the back, within 1 min 30 s'),
    ],
)  # fmt: skip
def test_how_it_is_poured(pour: Pour, expected: str) -> None:
    assert words.poured_words(pour) == expected


def test_a_film_too_fast_for_its_law_is_named() -> None:
    assert words.remarks(hand_made.water()) == ()
    (said,) = words.remarks(hand_made.water(reynolds=812.0))
    assert "Reynolds number of 812" in said


@pytest.mark.parametrize("verdict", list(Verdict))
def test_it_never_approves(verdict: Verdict) -> None:
    said = words.water_headline(hand_made.water(verdict=verdict))
    assert "complian" not in (said.says + said.todo).lower()
