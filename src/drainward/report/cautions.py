"""What stands on every handover, whatever the findings: who decides, and where the work can hurt people.

cautions         all of it, for one unit
water_cautions   the part that belongs to the water test
setting_cautions of the steps while it is set: bed, fasten, brace, cure
storage_lines    how to keep a unit that arrived until it is set
before_cautions  of the steps before a unit is set: coring, grinding, planing, carrying, standing up, letting down
CERTAINTIES      what the word behind each source means
"""

from __future__ import annotations

from drainward.job.model import Job, UnitModel
from drainward.quantity import format_length, format_mass
from drainward.rules.scald import scald_words

__all__ = ["CERTAINTIES", "before_cautions", "cautions", "setting_cautions", "storage_lines", "water_cautions"]

CERTAINTIES = {
    "seen": "the text itself was read",
    "secondary": "read in another's quotation, not in the standard",
    "computed": "worked out from a stated formula",
    "memory": "remembered, not read: never decides a verdict alone",
    "common practice": "what the trade does; no rule behind it",
    "local": "written into this job by its own people",
}
"""What the word behind each source means."""

_LINES = """\
Local codes as adopted, the unit maker's own instructions and the authority having jurisdiction come first; where they \
differ from this paper, they hold. These are findings, not an approval.
The drain connection and its test are work for a licensed plumber where the law says so.
Keep off the floor until the bed has cured, at least {cure} by the unit's cut sheet, longer in the cold. After that a \
bed cannot be mended by moving the unit.
Readings tell the shape of the floor when they were taken, nothing about the bed below, the seal or the piping. Test \
each unit with water before the walls are closed.
Ponds count from {pond} deep. A thin film that stays on clean fibreglass is held by the water's own skin and is no \
pond by itself.
Check the level by turning it end for end: if the bubble moves, every reading taken with it is off.
Wet mortar burns skin and eyes: gloves, long sleeves, eye protection, clean water at hand.
Dry mortar, cutting and grinding give silica dust: wet methods or extraction, and breathing protection as the dust \
rules in force require. Never sweep it dry.
{water}
The unit weighs about {mass} and is awkward: plan the lift, enough people, hands clear of the drain and edges.
"""

_WATER_LINES = """\
Water test: pour none on a floor whose bed has not cured, at least {cure} by the unit's cut sheet; it washes mortar \
out from under the unit.
Water test: water that gets past a drain or a seal shows on the floor below. Know who and what is there, look at the \
ceiling while you pour, and have the shut-off at hand.
Water test: keep skin out of the stream until a thermometer has read it. {scald}
Water test: a wet unit is slippery, more so with soap. Shoes that grip, no one else in the room, and the floor outside \
dried before anyone walks on it.
Water test: keep lamps, cords, chargers and power tools off the wet floor; what must be near runs behind \
ground-fault protection.
"""

_BEFORE_LINES = """\
Coring: a slab may hold tendons under tension, reinforcement, cables and pipes. Have it scanned, and have the \
structural engineer's and the owner's permission in writing, before a drill touches it; a tendon that is cut can kill.
Coring: close off the floor below, hold the core so that it cannot fall through, and keep the drill's water off cables.
Grinding, coring and chipping a slab give silica dust: wet methods or extraction, and breathing protection as the \
dust rules in force require. Never sweep it dry.
Planing, notching or moving a stud: ask the structural engineer first where the wall bears or braces. Know where \
cables and pipes run, and have them dead, before a saw or a screw goes into the wall.
Carrying: the unit weighs about {mass} and is awkward. Walk the way first; one person leads and gives the word; shoes \
that grip; nobody walks backwards down a stair with it.
Rolling on pipes: nobody's foot before it, chocks at hand, and never down a slope without a rope to hold it.
Standing it up: past its balance it falls by itself, and its lower edge slides back. One person holds that edge, \
nobody stands where it could fall, and lamps, sprinklers and wires under the ceiling are out of its sweep.
Hands: flange against stud and rim against slab cut and crush. Let it down on blocks, draw them out one at a time \
with a hook or a strap, and keep fingers off edges, drain and core.
"""

_SETTING_LINES = {
    "bed": """\
Wet mortar burns skin and eyes, and does not hurt at first: gloves that keep water out, long sleeves, eye protection, \
knee pads that do not soak; clean water at hand, and wash at once.
Tipping and mixing bags gives silica dust: tip low and slowly, mix with extraction or wet, breathing protection as the \
dust rules in force require. Never sweep it dry.
A place that is too thin is ground wet or with extraction. A larger core or recess: have the slab scanned for \
reinforcement and tendons, and the structural engineer's and the owner's permission in writing, before a drill touches \
it.
Buckets and bags are lifted close to the body, one each; two people turn a mixer out.
The unit weighs about {mass}: lower it flat, enough people, a word given before each move, no hand under it.
""",
    "fasten": """\
Know where cables and pipes run in the walls, and have them dead, before a screw goes in; a screw that comes out \
behind the wood may still meet one.
Kneel on a padded board over the feet of the braces to come, never on the wet bed; eye protection overhead.
""",
    "brace": """\
A post that slips falls: stand beside it, hold it until both wedges are in, nobody under it.
Wedges pushed too hard lift a ceiling or crack the floor: by hand, and one tap.
Posts close off the unit: mark the door, and let nobody lean on them or take one away.
""",
    "cure": """\
Nobody stands in the unit, nothing is stored in it and no water is poured before the bed has cured.
Heaters and engines in a closed room kill by their fumes: lead them out, or heat without a flame.
Taking braces off: hold the post before its wedges go, and bring it down in two hands.
""",
    "support": """\
Tap with the handle of a screwdriver or a small wooden mallet, never with steel on the finish.
Nobody steps on a wet bed: press only once it has cured, on one heel in a soft clean shoe, holding on to something.
Lifting a unit off its bed: it weighs about {mass} and the mortar sucks; enough people, no hand under its edge.
Filling a void: goggles and gloves, the filler's own instructions, and no drill until the unit's maker agrees.
""",
}

_STORAGE_LINES = """\
Until it is set, stand the unit on blocks under its rim, level and out of wind, so that {drain} hangs free and the \
floor keeps its fall; never on the drain, and nothing stacked in it.
Keep its finish covered while people work in it or over it, and sweep grit out before anyone steps in.
Put blocks and cover back each time it was moved, and look again for damage before the dry set.
"""


def storage_lines(unit: UnitModel) -> tuple[str, ...]:
    """Sentences for whoever takes a unit in; common practice, no source, and its maker's instructions come first."""
    drain = f"the drain's body, {format_length(unit.drain.body_depth)} below the floor,"
    return tuple(_STORAGE_LINES.format(drain=drain).splitlines())


def cautions(job: Job, unit: UnitModel) -> tuple[str, ...]:
    """Sentences with this unit's cure and mass and this job's pond depth, most binding first."""
    filled = _LINES.format(
        cure=f"{unit.minimum_cure / 3600:.0f} h",
        mass=format_mass(unit.mass),
        pond=format_length(job.pond_counts, "in", 32),
        water="\n".join(water_cautions(unit)),
    )
    return tuple(filled.splitlines())


def water_cautions(unit: UnitModel) -> tuple[str, ...]:
    """Sentences for whoever pours the water, with this unit's cure, most binding first."""
    cure = f"{unit.minimum_cure / 3600:.0f} h"
    return tuple(_WATER_LINES.format(cure=cure, scald=scald_words(60.0)).splitlines())


def before_cautions(unit: UnitModel) -> tuple[str, ...]:
    """Sentences for whoever prepares a pocket and brings this unit into it, in the order of the work."""
    return tuple(_BEFORE_LINES.format(mass=format_mass(unit.mass)).splitlines())


def setting_cautions(unit: UnitModel, stage: str) -> tuple[str, ...]:
    """Sentences for whoever does a stage's work from `bed` to `support`. Raises KeyError for other stages."""
    return tuple(_SETTING_LINES[stage].format(mass=format_mass(unit.mass)).splitlines())
