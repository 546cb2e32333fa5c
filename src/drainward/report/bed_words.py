"""The bed of one room in a mason's words, for terminal, page and paper.

mix_lines      how much to weigh, in how much water, in which buckets; the bead; what pressing takes
batch_rows     each batch: when its water goes in, powder, water, where it goes
pour_lines     each zone, numbered as on the map
BATCH_HEAD     the columns of a batch
bed_cautions   where mixing, grinding and placing can hurt people
"""

from __future__ import annotations

from drainward.bed.result import BedPlan
from drainward.bed.ridges import pour_words
from drainward.quantity import INCH, format_length, format_mass, format_volume

__all__ = ["BATCH_HEAD", "batch_rows", "bed_cautions", "mix_lines", "pour_lines"]

BATCH_HEAD = ("batch", "water in after", "powder", "water", "zones in order")

_LBF = 4.4482216152605
_SQUARE_FOOT = 0.3048**2
_QUART = 231 * INCH**3 / 4

_CAUTIONS = """\
Mixing: dry mortar is silica and cement. Cut and empty the bag low and slowly, mix with extraction or outdoors, and \
wear the breathing protection that the dust rules in force and the bag ask for; never sweep it dry.
Wet mortar burns skin and eyes, worst where it soaks through knees and gloves: gloves, long sleeves, eye protection, \
clean water at hand, and wash it off at once.
Grinding a slab: find what lies in it first, wet or with extraction, and with the owner's word.
A wet bucket or a bag is lifted close to the body; two men to what is over the limit told here.
Letting the unit down: hands off its edge and out from under it; the drain is guided from the side, not from below.
"""


def mix_lines(plan: BedPlan) -> tuple[str, ...]:
    """Sentences; none where no void is known but the bead under the threshold."""
    bead = (
        f"Bead under the threshold, no mortar there: {format_length(plan.bead.length)} of "
        f"{format_length(plan.bead.diameter)}, {plan.bead.tubes:.1f} tubes."
    )
    mixed, mixes, squeeze, void = plan.mix, plan.batches, plan.squeeze, plan.void
    if mixed is None or mixes is None or void is None:
        return (bead,)
    each = f"{mixed.buckets} buckets of at most {format_mass(mixed.bucket_mass)}"
    heavy = (
        f"; over {format_mass(mixed.bucket_limit)} two men lift it" if mixed.bucket_mass > mixed.bucket_limit else ""
    )
    told = [
        (
            f"Weigh {mixed.weighed:.1f} bags, {format_mass(mixed.powder)}, into {format_volume(mixed.water)} of water "
            f"in all; enough with {mixed.level:.0%} certainty. Without a scale: {mixed.whole} bags."
        ),
        (
            f'It holds with the threshold {format_length(void.over_slab)} over the bare slab along it; each 1/16" '
            f"higher takes {void.by_height * INCH / 16 * mixed.bags / void.volume:.2f} of a bag more."
        ),
        f"{each[0].upper()}{each[1:]}{heavy}.",
        (
            f"Pot life {mixes.pot_life / 60:.0f} min at {mixes.temperature * 1.8 + 32:.0f} °F; the first batch is open "
            f"for {mixes.open_for / 60:.0f} min until the unit is down."
        ),
        bead,
    ]
    if squeeze is not None:
        low, high = (area / _SQUARE_FOOT for area in squeeze.area)
        flat = " to ".join(f"{force / _LBF:,.0f}" for force in squeeze.flat)
        told.append(
            f"Ridges press flat under a man over {low:.0f} to {high:.0f} sq ft at a time: move the weight about. A "
            f"full flat bed would take {flat} lb over the whole floor; do not lay one."
        )
    return tuple(told)


def batch_rows(plan: BedPlan) -> tuple[tuple[str, str, str, str, str], ...]:
    """(number, minute its water goes in, powder, water, zones in order) of each batch."""
    if plan.batches is None:
        return ()
    return tuple(
        (
            str(number),
            f"{batch.begins / 60:.0f} min",
            format_mass(batch.powder),
            f"{batch.water / _QUART:.1f} qt",
            ", ".join(str(zone + 1) for zone, _ in batch.places),
        )
        for number, batch in enumerate(plan.batches.batches, 1)
    )


def pour_lines(plan: BedPlan) -> tuple[str, ...]:
    """A sentence for each zone, in the order of their numbers."""
    return pour_words(plan.zones)


def bed_cautions() -> tuple[str, ...]:
    """Sentences, the dust first."""
    return tuple(_CAUTIONS.splitlines())
