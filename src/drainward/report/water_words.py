"""What page, paper and terminal say of the water test.

water_headline           the verdict in plain words, and what to do next
expected                 what the pour will show, in a sentence
Spread, spread           a range over the drawn floors, in trade units and SI
Answered, answered       every range of the stage, with what was asked
hang_says, hang_rule     what may stay by the water's own skin; when a patch that stays counts
Recorded, recorded       each recorded test as it was, beside what was computed
remarks                  what makes the computed times less sure
poured_words             how much is poured, how fast and where
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from drainward.finding import Verdict
from drainward.floor.film.result import Hang, Pour, Range, Seen, Water
from drainward.job.model import Pattern, Puddle, WaterTest
from drainward.quantity import (
    INCH,
    format_duration,
    format_flow,
    format_length,
    format_slope,
    format_volume,
    parse_volume,
)
from drainward.report.words import (
    UNKNOWN,
    Headline,
    Shown,
    chance,
    of_findings,
    place,
    reading_words,
    sentence,
    shown,
)

__all__ = [
    "Answered",
    "Recorded",
    "Spread",
    "answered",
    "expected",
    "hang_rule",
    "hang_says",
    "poured_words",
    "recorded",
    "remarks",
    "spread",
    "water_headline",
]

NEVER, NONE, THIN = "never within an hour", "none", 'under 1/32"'
_OUNCE, _GALLON, _LEAST = (parse_volume(text).value for text in ("1 fl oz", "1 gal", "1 mL"))
FASTEST = 500.0
"""Reynolds number of the film up to which its law holds."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A range: its likeliest value and its 95 % band, as written for the trade and in SI; each may be empty."""

    trade: str
    si: str
    band: str
    band_si: str

    def __str__(self) -> str:
        """In one line: `about 1 min 50 s, 95 %: 1 min 20 s to 2 min 40 s`."""
        likely = f"{self.trade} ({self.si})" if self.si else self.trade
        return f"{likely}, 95 %: {self.band}" if self.band else likely


NOTHING = Spread(NONE, "", "", "")


@dataclass(frozen=True, slots=True)
class Answered:
    """One of the stage's answers; `aside` is what one needs to know to read it."""

    what: str
    spread: Spread
    aside: str = ""


@dataclass(frozen=True, slots=True)
class Recorded:
    """A recorded test in words; what was not written down is empty.

    puddles : of each puddle its number on the plan, and where, how wide and how deep it was
    agrees  : "as computed", "not as computed", or why there is nothing to compare
    causes  : likeliest first, each with its chance;  tell : the reading that would tell
    """

    when: str
    poured: str
    drained: str
    computed: str
    looked: str
    puddles: tuple[tuple[int, str], ...]
    soap: str
    measured: str
    agrees: str
    says: str
    causes: tuple[str, ...]
    tell: str
    note: str
    photo: str


def water_headline(water: Water) -> Headline:
    """The verdict of a water test in plain words: first a test that was not as computed, else what is still to do."""
    said = of_findings(water.verdict, water.findings)
    astray = next((seen for seen in reversed(water.seen) if seen.agrees is False), None)
    if astray is not None:
        return replace(said, todo=" ".join(part for part in (sentence(astray.says), _read(astray)) if part))
    if water.verdict is Verdict.NOT_PROVEN and water.next_reading is not None:
        return replace(said, todo=f"Read next: {reading_words(water.next_reading)}.")
    if water.verdict is Verdict.FAILS or water.seen:
        return said
    # What is not counted stands before what to do; what nobody measured yet is measured with the pour.
    kept = said.todo if water.verdict is Verdict.MEETS else ""
    return replace(said, todo=" ".join(part for part in (kept, _pour(water)) if part))


def expected(water: Water) -> str:
    """What the pour will show, or should have shown: how long it runs, what stays behind, what is lost."""
    stays, stands, lost = (spread(of, "m3") for of in (water.left, water.standing, water.spilled))
    aside = "; ".join(part for part in (stays.si, f"95 %: {stays.band}" if stays.band else "") if part)
    left = f"Then {stays.trade} is left on the floor" + (f" ({aside})" if aside else "")
    ponds = f", {stands.trade} of it in ponds" if stands != NOTHING else ""
    over = f" Over the threshold goes {lost}." if lost != NOTHING else ""
    runs = f"The stream into the drain breaks up into drops after {spread(water.drained, 's')}."
    return f"{sentence(poured_words(water.pour))} {runs} {left}{ponds}.{over}"


def spread(of: Range, unit: str) -> Spread:
    """A range as it is written. unit : "m", "m3" or "s"; a time that never comes ends `never within an hour`."""
    if math.isnan(of.likely):
        return Spread(UNKNOWN, "", "", "")
    likely = _written(of.likely, unit)
    low, high = _written(of.low, unit), _written(of.high, unit)
    about = likely.trade if likely.trade in (NEVER, NONE, THIN) else f"about {likely.trade}"
    if low == high:
        return Spread(about, likely.si, "", "")
    if unit == "m":
        inches = _to(f"{of.low / INCH:.2f} in", f"{of.high / INCH:.2f} in")
        return Spread(about, likely.si, inches, _to(f"{of.low * 1000:.1f} mm", f"{of.high * 1000:.1f} mm"))
    return Spread(about, likely.si, _to(low.trade, high.trade), _to(low.si, high.si))


def answered(water: Water) -> tuple[Answered, ...]:
    """Every range of the stage, in the order in which a crew meets it."""
    lip = shown(water.lip, None, "m")
    rise = f"lip {lip.trade} ({lip.si})" if math.isfinite(water.lip) else "no way out there"
    flow = f"at {format_flow(water.shower)} ({format_flow(water.shower, 'L/min')})"
    return (
        Answered("Until the stream breaks up into drops", spread(water.drained, "s")),
        Answered("Left on the floor then", spread(water.left, "m3")),
        Answered("Of it standing in ponds", spread(water.standing, "m3")),
        Answered("May hang by the water's own skin", Spread(*_skin(water.hang), "", ""), "on a sound floor"),
        Answered("Deepest at the threshold in the test", spread(water.lip_depth, "m"), rise),
        Answered("Lost over the threshold in the test", spread(water.spilled, "m3")),
        Answered("Deepest over the drain, shower running", spread(water.shower_depth, "m"), flow),
        Answered("Threshold over that water", spread(water.freeboard, "m"), "under 0: it runs out"),
        Answered("Drain blocked, shower running: until water runs out", spread(water.overflow, "s")),
    )


def hang_says(hang: Hang) -> str:
    """What clean water does on a sound floor with no dip under it."""
    least, most = (shown(size, None, "m") for size in (hang.least, hang.most))
    length = f"{format_length(hang.length, 'in', 4)} ({hang.length * 1000:.0f} mm)"
    volume, si = _skin(hang)
    return (
        f"Clean water hangs on a sound floor by its own skin: {least.trade} to {most.trade} ({_to(least.si, most.si)}) "
        f"thick, in strips up to {length} long where it falls {format_slope(hang.fall)} "
        f"({format_slope(hang.fall, '%')}), in all {volume}" + (f" ({si})" if si else "") + ". Such a film is no pond."
    )


def hang_rule(hang: Hang) -> tuple[str, ...]:
    """What to do with a patch that stays, in order; common practice, no source."""
    dip = f"{format_length(hang.dip, 'in', 64)} ({hang.dip * 1000:.1f} mm)"
    counts = f"A patch that stays counts if its middle is deeper than {dip}"
    return (
        "Wipe it with a drop of dish soap in the water and look again: a film that hung by its skin runs off.",
        f"{counts}, or if it refills to the same outline after wiping and a second pour.",
        "Else take a chord reading across it, the gap under the middle of a straightedge: the dip decides.",
    )


def recorded(water: Water) -> tuple[Recorded, ...]:
    """Every recorded test in words, the last one last; puddles are numbered on through all of them, as on the plan."""
    counts = [len(seen.test.puddles or ()) for seen in water.seen]
    return tuple(_recorded(seen, 1 + sum(counts[:k])) for k, seen in enumerate(water.seen))


def remarks(water: Water) -> tuple[str, ...]:
    """What makes the computed water less sure than its bands say."""
    if water.reynolds <= FASTEST:
        return ()
    fast = f"The film ran at a Reynolds number of {water.reynolds:.0f}; its law holds up to about {FASTEST:.0f}."
    return (f"{fast} Beyond, water runs slower and stands deeper than computed.",)


def poured_words(pour: Pour | WaterTest) -> str:
    """`1 gal (3.79 L) over the floor within 1 min`; a bucket or a head with its place."""
    if pour.x is not None and pour.y is not None:
        where = f", {place(pour.x, pour.y)},"
    else:
        where = "" if pour.how is Pattern.OVER_THE_FLOOR else ", in the middle,"
    how = {
        Pattern.OVER_THE_FLOOR: "over the floor",
        Pattern.AT_A_POINT: "at one point",
        Pattern.SHOWER: "from a shower head",
    }[pour.how]
    much = f"{format_volume(pour.poured)} ({format_volume(pour.poured, 'L')})"
    return f"{much} {how}{where} within {format_duration(pour.over)}"


def _recorded(seen: Seen, first: int) -> Recorded:
    test = seen.test
    computed = f"computed {spread(seen.drained, 's')}"
    if test.puddles is None:
        looked = "nobody looked for puddles"
    else:
        looked = f"{len(test.puddles)} seen" if test.puddles else "no puddle seen"
    return Recorded(
        when=", ".join(part for part in (_when(test), test.who) if part),
        poured=poured_words(test),
        drained="nobody timed it" if test.drained is None else f"{format_duration(test.drained)} until drops",
        computed=computed
        if seen.drained_chance is None
        else f"{computed}; so far off or farther {chance(seen.drained_chance)}",
        looked=looked if seen.puddles_chance is None else f"{looked}; to be expected {chance(seen.puddles_chance)}",
        puddles=tuple((number, _puddle(puddle)) for number, puddle in enumerate(test.puddles or (), first)),
        soap="wiped with soap" if test.soap else "no soap: a film may hang by its skin",
        measured=", ".join(_measured(test)),
        agrees={True: "as computed", False: "not as computed", None: "nothing to compare"}[seen.agrees],
        says=sentence(seen.says),
        causes=tuple(f"{cause.about.capitalize()}: {cause.what}, {chance(cause.probability)}" for cause in seen.causes),
        tell=_read(seen),
        note=test.note,
        photo=test.photo,
    )


def _pour(water: Water) -> str:
    return f"Now pour: {poured_words(water.pour)}, time it, and write down every puddle or that there is none."


def _read(seen: Seen) -> str:
    return "" if seen.ask is None else f"Read: {reading_words(seen.ask)}. {sentence(seen.ask.why)}".rstrip()


def _when(test: WaterTest) -> str:
    return "" if test.when is None else f"{test.when:%Y-%m-%d %H:%M}"


def _puddle(puddle: Puddle) -> str:
    """`45-1/4" from the left, 26-3/4" from the back, 4" across, 5/32" (4.0 mm) deep`."""
    deep = None if puddle.depth is None else shown(puddle.depth, None, "m")
    parts = (
        place(puddle.x, puddle.y),
        "" if puddle.across is None else f"{format_length(puddle.across, 'in', 4)} across",
        "depth not measured" if deep is None else f"{deep.trade} ({deep.si}) deep",
    )
    return ", ".join(part for part in parts if part)


def _measured(test: WaterTest) -> list[str]:
    """Heat and flow at the head, where they were measured."""
    parts = ((test.hottest, test.u_hottest, "degC", "hottest water"), (test.flow, test.u_flow, "m3/s", "flow"))
    found = [(shown(value, u, unit), name) for value, u, unit, name in parts if value is not None]
    return [f"{name} {value.trade} ({value.si})" for value, name in found]


def _written(value: float, unit: str) -> Shown:
    """One end of a range, no finer than a computed one is known."""
    if unit == "s":
        return Shown(_time(value), "")
    if not math.isfinite(value):
        return Shown(UNKNOWN, "")
    if unit == "m3":
        return _volume(value)
    length = shown(value, None, unit)
    return replace(length, trade=THIN) if 0 < value < INCH / 64 else length


def _time(seconds: float) -> str:
    """A computed time to some 4 %, as a watch is called out."""
    if not math.isfinite(seconds):
        return NEVER
    step = next((step for step in (60, 30, 10, 5) if seconds >= 12 * step), 1)
    return format_duration(round(seconds / step) * step)


def _volume(volume: float) -> Shown:
    """Two digits in each unit; under 1 mL, some drops, is none."""
    if volume < _LEAST:
        return Shown(NONE, "")
    trade = _OUNCE if volume < _GALLON / 10 else _GALLON
    return Shown(format_volume(_two_digits(volume, trade)), format_volume(_two_digits(volume, 1e-3), "L"))


def _two_digits(value: float, unit: float) -> float:
    number = value / unit
    return round(number, 1 - math.floor(math.log10(number))) * unit


def _skin(hang: Hang) -> tuple[str, str]:
    """The volume that may hang, in trade units and SI."""
    low, high = (_volume(volume) for volume in hang.volume)
    return (high.trade, high.si) if low == high else (_to(low.trade, high.trade), _to(low.si, high.si))


def _to(low: str, high: str) -> str:
    """`2.1 to 7.4 fl oz`: a unit that both ends share stands once, and a low end of nothing not at all."""
    if low == high:
        return high
    if low in ("", NONE):
        return f"up to {high}"
    number, _, unit = low.partition(" ")
    shared = unit == high.partition(" ")[2] and unit.replace(" ", "").isalpha()
    return f"{number if shared else low} to {high}"
