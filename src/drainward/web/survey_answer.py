"""The stages before a unit is set made ready for the page's templates: plain words, numbers and drawings only.

survey_answer   what the templates need of a room's survey, dry set and set-out; way_answer: of its way in
MeasureRow      a measure of the pocket, or a size or the damage of its unit, as it is listed; measure_rows: all of them
form_steps      the steps of the entry, with their pictures, as the page's script takes them
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drainward.job.model import Instrument, Measure, Received, Size, UnitModel
from drainward.quantity import format_length, format_mass
from drainward.report.survey_steps import Step
from drainward.report.tape_svg import tape_svg
from drainward.report.words import chance
from drainward.web.answer import card
from drainward.web.survey_entry import SENSES

if TYPE_CHECKING:
    from drainward.pocket.adjust import Adjusted
    from drainward.wayin.plan import Plan
    from drainward.wayin.result import WayIn
    from drainward.web.desk import Before

__all__ = ["MeasureRow", "form_steps", "measure_rows", "survey_answer", "way_answer"]

_PICTURE = 80.0
"""Width of the drawing of a placement, mm: its words are as large as a phone needs that scrolls it sideways."""


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """One entry as it is listed: `field` names it for whoever takes it back; `why` says why it was not used."""

    field: str
    id: str
    what: str
    value: str
    si: str
    instrument: str
    who: str
    when: str
    note: str
    photo: str
    why: str


def survey_answer(before: Before, measures: Sequence[Measure], received: Sequence[Received]) -> dict[str, Any]:
    """What the templates of a room's survey need of its answers."""
    from drainward.report.bed_svg import bed_svg
    from drainward.report.bed_words import BATCH_HEAD, batch_rows, bed_cautions, mix_lines, pour_lines
    from drainward.report.cautions import storage_lines
    from drainward.report.pocket_picture import placement_picture
    from drainward.report.pocket_svg import placement_svg
    from drainward.report.pocket_words import (
        before_headline,
        blunder_lines,
        board_place,
        place_lines,
        refused_lines,
        shims,
        zone_place,
    )
    from drainward.report.setout_svg import elevations, setout_svg

    survey, dry, out = before.survey, before.dry_set, before.set_out
    pocket, walls = dry.adjusted.pocket, elevations(out)
    return {
        "headline": before_headline(survey),
        "says": survey.says,
        "goes_in": chance(survey.drawn.goes_in),
        "blunders": blunder_lines(survey.adjusted.blunders),
        "refused": refused_lines(survey.adjusted),
        # Where nothing was measured it would show the unit in a pocket that nobody has seen.
        "picture": placement_svg(placement_picture(dry.unit, pocket, dry.placed, dry.goes_in), _PICTURE)
        if measures
        else "",
        "shims": shims(pocket, dry.placed),
        "places": place_lines(dry.placed),
        "storage": storage_lines(survey.unit) if received else (),
        "walls": setout_svg(walls) if walls else "",
        "screws": [(line.use, line.count, line.screw.words) for line in out.screws],
        "boards": [board_place(wall.wall.wall, piece) for wall in walls for piece in wall.add],
        "board_walls": [wall.wall.wall.name.lower() for wall in walls for _ in wall.add],
        "zones": [(zone.name, zone_place(zone)) for zone in out.zones],
        "conflicts": [(conflict.why, conflict.do) for conflict in out.conflicts],
        "first": [(row.what, row.before, row.why) for row in out.before],
        "no_bed": before.no_bed,
        "bed": None
        if before.bed is None
        else {
            "headline": before_headline(before.bed),
            "picture": bed_svg(before.bed, 120.0),
            "mix": mix_lines(before.bed),
            "head": BATCH_HEAD,
            "batches": batch_rows(before.bed),
            "pour": pour_lines(before.bed),
            "assumed": before.bed.assumed,
            "cautions": bed_cautions(),
            "cards": [card(finding) for finding in before.bed.findings],
        },
        "units": [(c.unit.name, c.verdict, c.fits, c.rules, [f.what for f in c.against]) for c in survey.units],
        "cards": [card(finding) for finding in survey.findings],
        "set_cards": [card(finding) for finding in out.findings],
        "used": len(measures) + len(received) - sum(1 + len(b.rivals) for b in survey.adjusted.blunders),
    }


def way_answer(way: WayIn, plan: Plan) -> dict[str, Any]:
    """What the templates need of a way in on its plan."""
    from drainward.report.pocket_words import before_headline
    from drainward.report.wayin_svg import wayin_svg
    from drainward.wayin.lift import lifting_words

    return {
        "headline": before_headline(way),
        "picture": wayin_svg(way, plan, turns=True),
        "steps": [step.says for step in way.steps],
        "carries": [(c.how, format_length(c.low), format_length(c.high)) for c in way.carries],
        "cards": [card(finding) for finding in way.findings],
        "ruled_out": way.ruled_out,
        "lift": f"{format_mass(way.mass)}: {lifting_words(way.liftings)}.",
        "cautions": way.cautions,
    }


def measure_rows(
    measures: Iterable[Measure],
    received: Iterable[Received],
    adjusted: Adjusted | None,
    instruments: Mapping[str, Instrument],
) -> list[MeasureRow]:
    """All that was measured, in the order it came: the pocket, then its unit. adjusted : None while it is computed."""
    why: dict[str, str] = {}
    if adjusted is not None:
        for blunder in adjusted.blunders:
            for measure in (blunder.measure, *blunder.rivals):
                why[measure.id] = "the others contradict it; measure there again"
        why |= {one.measure.id: f"it {one.why}" for one in adjusted.refused}
    rows = [_row("measure", m, _place(m), f"{m.value * 1000:.0f} mm", why.get(m.id, ""), instruments) for m in measures]
    for size in received:
        seen = size.what is Size.DAMAGE
        rows.append(
            _row("received", size, f"unit: {size.what}", "" if seen else f"{size.value * 1000:.0f} mm", "", instruments)
        )
    return rows


def form_steps(steps: Sequence[Step], unit: UnitModel) -> list[dict[str, Any]]:
    """Each step as the script needs it: its places as they are typed, its senses, its picture."""
    return [
        {
            "of": step.of,
            "what": str(step.what),
            "wall": step.wall,
            "places": {
                name: format_length(at)
                for name in ("x", "y", "z", "x2", "y2")
                if (at := getattr(step, name)) is not None
            },
            "title": step.title,
            "how": step.how,
            "why": step.why,
            "sheet": step.sheet,
            "done": step.done,
            "sense": next((list(signs) for what, signs in SENSES.items() if what == step.what), []),
            "svg": tape_svg(step, unit),
        }
        for step in steps
    ]


def _place(measure: Measure) -> str:
    from drainward.pocket.ask import place_words

    return (
        f"{place_words(measure)}, {measure.wall} wall" if measure.what in ("stud", "blocking") else place_words(measure)
    )


def _row(
    field: str, entry: Measure | Received, what: str, si: str, why: str, instruments: Mapping[str, Instrument]
) -> MeasureRow:
    tool = instruments.get(entry.instrument)
    return MeasureRow(
        field=field,
        id=entry.id,
        what=what,
        value=entry.written or format_length(entry.value),
        si=si,
        instrument=tool.name if tool else entry.instrument,
        who=entry.who,
        when="" if entry.when is None else f"{entry.when:%Y-%m-%d %H:%M}",
        note=entry.note,
        photo=getattr(entry, "photo", ""),
        why=why,
    )
