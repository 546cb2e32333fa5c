"""The void against what the mortar allows, and what to read next.

bed_findings   volume, thinnest and thickest, under the threshold, pot life
known_enough   whether the volume is known well enough to mix for
off_limits     where the slab is to be ground or filled first
next_spot      the spot height that tells most of what is open
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import label

from drainward.bed.batches import Batches
from drainward.bed.bead import Bead, bead_over
from drainward.bed.mix import Mix, bag_yield
from drainward.bed.result import OffLimit, SpotAsked
from drainward.bed.slab import before
from drainward.bed.void import Void
from drainward.finding import Certainty, Finding, Requirement, Source, Verdict, conformance, decide
from drainward.floor.judge import judged_on
from drainward.job.materials import Mortar
from drainward.quantity import INCH, format_duration, format_length, format_mass, format_volume

__all__ = ["bed_findings", "known_enough", "next_spot", "off_limits"]

Array = NDArray[np.float64]

PRACTICE = Source("", "", "", Certainty.PRACTICE)
_LASER = INCH / 32
_ORDINARY = 2
"""Bags of 50 lb that serve an ordinary unit: common practice, no source."""
_WORTH = 0.03
"""A spot that takes away less of the doubt than this is not worth the walk."""
_SMALL = 4 * INCH**2
"""Smaller places than this are a matter for the trowel."""


def bed_findings(
    void: Void,
    mixed: Mix | None,
    mixes: Batches | None,
    laid: Bead,
    mortar: Mortar,
    off: tuple[OffLimit, ...],
    risk: float,
    gap: tuple[float, float] | None = None,
) -> tuple[Finding, ...]:
    """Volume, thinnest and thickest bed, the front edge and the pot life, in this order; the last where it is mixed.

    gap : under the threshold as the dry set showed it, with its uncertainty, m; None where nobody measured it
    """
    return (
        _volume(void, mixed, mortar, off, risk),
        _thin(void, mortar, off, risk),
        _thick(void, mortar, off, risk),
        _front(void, laid, risk) if gap is None else _gap(gap, laid, risk),
        *(() if mixes is None else (_open(mixes, risk),)),
    )


def known_enough(void: Void, mortar: Mortar) -> float:
    """Chance that the volume lies within a bag of what is told: a bag more or less is on site anyway."""
    bag = bag_yield(mortar).volume
    return conformance(void.volume, void.u, void.volume - bag, void.volume + bag)


def off_limits(void: Void, mortar: Mortar, risk: float) -> tuple[OffLimit, ...]:
    """Places that are off the mortar's limits with a chance over `risk`, worst first; clear of the box-out."""
    free = ~void.boxed
    thin = (void.drawn < mortar.thinnest).mean(axis=0) * free
    thick = (void.drawn > mortar.thickest).mean(axis=0) * free
    low, high = np.quantile(void.drawn, (risk, 1 - risk), axis=0)
    found = [
        *_places(void, "grind", thin, mortar.thinnest - low, risk),
        *_places(void, "fill", thick, high - mortar.thickest, risk),
    ]
    return tuple(sorted(found, key=lambda place: -place.much))


def next_spot(void: Void, findings: tuple[Finding, ...]) -> SpotAsked | None:
    """Where a spot height, read from the last set-up, takes away most of what keeps a finding open.

    Of the first finding that is open: the share of its quantity's variance over drawn slabs that a reading explains.
    None where none is open, or where no spot is worth the walk.
    """
    open_now = {finding.id for finding in findings if finding.verdict is Verdict.NOT_PROVEN}
    wanted = [
        ("bed/thinnest", void.thinnest, "how thin the bed gets"),
        ("bed/thickest", void.thickest, "how thick the bed gets"),
        ("bed/volume", void.volumes, "how much mortar the void takes"),
    ]
    picked = next((row for row in wanted if row[0] in open_now), None)
    if picked is None:
        return None
    name, values, why = picked
    unit, draws = void.unit, void.draws
    step = 4 * INCH
    axes = np.arange(step, unit.inside_width, step), np.arange(step, unit.inside_depth, step)
    gx, gy = (part.ravel() for part in np.meshgrid(*axes))
    clear = ~void.box.holds(gx, gy)
    gx, gy = gx[clear], gy[clear]
    read = np.asarray((draws.grid.weights(gx, gy) @ draws.nodes.T).T) + draws.level[:, None]
    read = np.column_stack([read, draws.outside + draws.level])
    gx, gy = np.append(gx, unit.inside_width / 2), np.append(gy, unit.inside_depth + unit.threshold_width + 3 * INCH)
    error = np.append(np.full(len(gx) - 1, _LASER), np.sqrt(_LASER**2 + before(unit, gx[-1:], gy[-1:])[0, 0]))
    centred = read - read.mean(axis=0)
    along = values - values.mean()
    explained = (along @ centred / len(along)) ** 2 / (centred.var(axis=0) + error**2) / max(along.var(), 1e-18)
    best = int(explained.argmax())
    if explained[best] < _WORTH:
        return None
    return SpotAsked(float(gx[best]), float(gy[best]), float(explained[best]), f"It tells most of {why}.", name)


def _places(void: Void, what: str, chance: Array, much: Array, risk: float) -> list[OffLimit]:
    """Connected places with a chance over `risk`; of each the point that needs most."""
    marks, count = label(chance > risk)
    cell = float((void.x[1] - void.x[0]) * (void.y[1] - void.y[0]))
    found = []
    for mark in range(1, count + 1):
        own = marks == mark
        area = float(own.sum()) * cell
        j, i = np.unravel_index(np.where(own, much, -np.inf).argmax(), own.shape)
        if area >= _SMALL:
            found.append(
                OffLimit(what, float(void.x[i]), float(void.y[j]), area, float(much[j, i]), float(chance[j, i]), own)
            )
    return found


def _volume(void: Void, mixed: Mix | None, mortar: Mortar, off: tuple[OffLimit, ...], risk: float) -> Finding:
    """The volume itself has no limit: what is asked is whether it is known well enough to mix for."""
    known = known_enough(void, mortar)
    words = "It is not known well enough to mix for."
    if mixed is not None:
        words = _mix_words(mixed)
    if any(place.chance >= 1 - risk for place in off):
        words = f"Mend the slab and read it again first: this is for the slab as it lies. {words}"
    return Finding(
        id="bed/volume",
        what="Mortar that the void takes",
        value=void.volume,
        u=void.u,
        unit="m3",
        limit="known to within a bag",
        probability=known,
        verdict=Verdict.MEETS if known >= 1 - risk else Verdict.NOT_PROVEN,
        source=f"{PRACTICE}, binds mortar under a bedded panel, box-out and all",
        advice=words,
        interval=(void.volume - 1.96 * void.u, void.volume + 1.96 * void.u),
    )


def _mix_words(mixed: Mix) -> str:
    words = (
        f"Weigh {mixed.weighed:g} bags ({format_mass(mixed.powder)}) into {format_volume(mixed.water)} of water, "
        f"{mixed.buckets} buckets: enough with {100 * mixed.level:.0f} % certainty."
    )
    if mixed.bucket_mass > mixed.bucket_limit:
        words += f" A bucket weighs {format_mass(mixed.bucket_mass)}: two men to each, or fill it less."
    if mixed.bags > _ORDINARY + 0.5:
        words += f" An ordinary unit takes {_ORDINARY} bags: this bed is thick, so look at slab and threshold first."
    return words


def _thin(void: Void, mortar: Mortar, off: tuple[OffLimit, ...], risk: float) -> Finding:
    row = _row("thinnest", "Thinnest place of the bed", mortar.thinnest, None, "the mortar as the job states it")
    return judged_on(row, void.thinnest, _words(off, "grind"), risk).finding


def _thick(void: Void, mortar: Mortar, off: tuple[OffLimit, ...], risk: float) -> Finding:
    row = _row("thickest", "Thickest place of the bed", None, mortar.thickest, "the mortar as the job states it")
    return judged_on(row, void.thickest, _words(off, "fill"), risk).finding


def _row(name: str, what: str, low: float | None, high: float | None, binds: str) -> Requirement:
    end, value = ("at least", low) if low is not None else ("at most", high)
    return Requirement(
        id=f"bed/{name}",
        what=what,
        quantity=f"bed.{name}",
        low=low,
        high=high,
        unit="m",
        source=PRACTICE,
        binds=f"{binds}, clear of the box-out",
        decided_by="whoever makes the mortar",
        written=f"{end} {format_length(value or 0.0)}",
    )


def _words(off: tuple[OffLimit, ...], what: str) -> str:
    """The three worst places to mend, in a sentence."""
    mine = [place for place in off if place.what == what][:3]
    if not mine:
        return ""
    told = "; ".join(
        f"{what} {format_length(max(place.much, INCH / 16))}{' first' if what == 'fill' else ''} at "
        f"{format_length(place.x)} from the left and {format_length(place.y)} from the back "
        f"({100 * place.chance:.0f} % likely needed)"
        for place in mine
    )
    return f"{told[0].upper()}{told[1:]}."


def _front(void: Void, laid: Bead, risk: float) -> Finding:
    """The bead has to stand over the gap under the threshold, which is no higher than the void at the front edge.

    A bead lower than that void proves nothing: the sheet does not tell how far down the threshold reaches.
    """
    words = _bead_words(laid)
    row = _front_row(laid)
    found = judged_on(row, np.asarray(void.drawn[:, -1].max(axis=1), dtype=np.float64), words, risk).finding
    if found.verdict is Verdict.MEETS:
        return found
    ask = (
        "That is the void behind it, and the gap may be less: dry set the unit, measure the gap under its threshold at "
        "both ends and the middle and write it down, for the bead has to stand over it."
    )
    return replace(found, verdict=Verdict.NOT_PROVEN, advice=f"{words} {ask}", decides=False)


def _gap(gap: tuple[float, float], laid: Bead, risk: float) -> Finding:
    """The same on the gap that the dry set showed; where a bead does not stand over it, how large one would."""
    value, u = gap
    row = _front_row(laid)
    stands = conformance(value, u, None, laid.diameter)
    verdict = decide(stands, Certainty.PRACTICE, risk)
    words = _bead_words(laid)
    if verdict is not Verdict.MEETS:
        words = f"No mortar under the threshold. {_larger_words(bead_over(gap, laid, risk), laid)}"
    return Finding(
        row.id, row.what, value, u, "m", row.written, stands, verdict, f"{PRACTICE}, binds {row.binds}", words
    )  # fmt: skip


def _larger_words(larger: Bead | None, laid: Bead) -> str:
    """What stands over a gap that is too high for the bead: a larger one, or the slab built up where none would."""
    if larger is None:
        return (
            f"No bead stands so high: build the slab along the threshold up with mortar to {format_length(INCH)} under "
            f"it, let that set, then lay the bead of {format_length(laid.diameter)}."
        )
    return (
        f"A bead of {format_length(laid.diameter)} may not reach it: lay {format_length(larger.diameter)}, in two "
        f"passes, {format_length(larger.length)} long, {larger.tubes:.1f} tubes."
    )


def _front_row(laid: Bead) -> Requirement:
    row = _row("under-threshold", "Gap under the threshold", None, laid.diameter, "adhesive bead under the threshold")
    return replace(row, binds="adhesive bead under the threshold")


def _bead_words(laid: Bead) -> str:
    return (
        f"No mortar under the threshold: a bead of {format_length(laid.diameter)}, {format_length(laid.length)} long, "
        f"{laid.tubes:.1f} tubes."
    )


def _open(mixes: Batches, risk: float) -> Finding:
    """From the first batch's water until the unit is down, within the pot life at the bed's temperature."""
    left = mixes.pot_life - mixes.open_for
    lasts = conformance(left, mixes.u, 0.0, None)
    verdict = decide(lasts, risk=risk)
    words = (
        f"{len(mixes.batches)} batches of {mixes.batches[0].bags:.2g} bags, down after "
        f"{format_duration(mixes.open_for)}; pot life {format_duration(mixes.pot_life)}."
    )
    if verdict is not Verdict.MEETS:
        words += " Mix with two men or two mixers, colder water, or wait for a cooler room."
    return Finding(
        id="bed/pot-life",
        what="Pot life left when the unit is down",
        value=left,
        u=mixes.u,
        unit="s",
        limit="at least 0 s",
        probability=lasts,
        verdict=verdict,
        source=f"{PRACTICE}, binds first batch, from its water until the unit is pressed down",
        advice=words,
    )
