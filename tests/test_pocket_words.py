"""Sentences of the stages before a unit is set."""

from __future__ import annotations

from dataclasses import replace

import pytest
import ways_in
from shower_units import INCH, level
from surveys import LEVELS, SMALL, STUDS, UNIT, WIDE, changed, job, measure, survey

from drainward.finding import Verdict
from drainward.job.model import What
from drainward.pocket.adjust import Refused
from drainward.pocket.place import place
from drainward.pocket.setout import Blocking
from drainward.pocket.shape import Wall
from drainward.pocket.stage import Survey, dry_set_stage, set_stage, survey_stage
from drainward.pocket.zones import Zone
from drainward.report.pocket_words import (
    before_headline,
    blunder_lines,
    board_place,
    measure_words,
    mend_sentence,
    place_lines,
    refused_lines,
    shims,
    why,
    zone_place,
)

GOOD = job(survey())
CORE_OFF = job(survey(core=(2.5, 0.0)))


@pytest.fixture(scope="module")
def good() -> Survey:
    return survey_stage(GOOD, "1")


@pytest.fixture(scope="module")
def core_off() -> Survey:
    return survey_stage(CORE_OFF, "1")


def test_what_keeps_the_unit_out_is_the_first_thing_to_do(core_off: Survey) -> None:
    said = before_headline(core_off)
    assert said.says.startswith("Fails: room for the unit in its pocket")
    assert said.todo.startswith("Widen the core by ")
    assert said.todo == mend_sentence(core_off)


def test_what_is_open_asks_for_a_measure() -> None:
    said = before_headline(survey_stage(job(()), "1"))
    assert said.verdict is Verdict.NOT_PROVEN
    assert said.todo.startswith("Measure next: Width between studs: ")


def test_blocking_is_counted_before_the_unit_is_set() -> None:
    # Without the stud in the back left corner the flange there has nothing to hold on to.
    bare = [m for m in survey() if not (m.what is What.STUD and m.wall == "back" and m.value < 2 * INCH)]
    answer = set_stage(job(bare), "1")
    count = sum(len(layout.add) for layout in answer.layouts)
    assert count == 1
    assert before_headline(answer).todo == "Add a piece of blocking before the unit is set."


def test_the_way_in_says_what_its_findings_say() -> None:
    assert before_headline(ways_in.way_in(open_by=-0.1)).todo == "Carry it upright; tightest at door D1."


def test_why_stands_without_the_verdict(good: Survey, core_off: Survey) -> None:
    assert why(good) == "The pocket takes the unit."
    assert why(core_off) == core_off.says
    assert why(ways_in.way_in(open_by=-0.1)) == "clearance at the tightest place of the way in, upright."


def test_a_pocket_that_takes_the_unit_does_not_hide_what_else_fails() -> None:
    """The bed would be too thin: the slab lies an inch too high."""
    high = [
        one.model_copy(update={"value": one.value + 2.2 * INCH}) if one.what is What.SLAB and one.y < 1.0 else one  # type: ignore[operator]
        for one in survey()
    ]
    said = survey_stage(job(high), "1")
    assert said.goes_in is Verdict.MEETS and said.verdict is Verdict.FAILS
    assert said.says.startswith("The unit goes into the pocket. Mend this first: ")
    assert why(said) == said.says


def test_where_a_measure_goes() -> None:
    words = measure_words(measure(What.WIDTH, 60.0, y=34.0, z=78.0))
    assert words.startswith("Width between studs: Tape from the left stud face")
    assert words.endswith('34" from the back, 78" up.')


@pytest.mark.parametrize("what", What)
def test_every_measure_has_words(what: What) -> None:
    assert ": " in measure_words(measure(what, 1.0, wall="left"))


def test_nothing_is_planed_where_it_goes_in(good: Survey) -> None:
    assert mend_sentence(good) == ""


def test_without_a_single_change_all_that_stands_in_the_way_is_named_wall_by_wall() -> None:
    found = survey_stage(job(survey(side=-0.3, core=(0.0, 2.5)), (), SMALL), "1")
    words = mend_sentence(found)
    assert words.count("the left wall's studs") == words.count("the right wall's studs") == 1
    assert words.count("widen the core") + words.count("Widen the core") == 1


def test_survey_dry_set_and_findings_say_one_mend() -> None:
    """Narrower than the unit by 0.8 in, where another model would go in."""
    slim = level(59, 36, (29.5, 18), 0.5, "slim").model_copy(update={"threshold_lip": 0.5 * INCH})
    made = job(survey(side=-0.4), (), slim)
    survey_, dry = survey_stage(made, "1"), dry_set_stage(made, "1")
    mend = before_headline(dry).todo.split(". That alone")[0]
    assert before_headline(survey_).todo == before_headline(dry).todo
    assert (
        survey_.says == f"Wrong unit for this pocket: slim would go in. To keep this one: {mend[0].lower()}{mend[1:]}."
    )
    assert all(f"{mend[0].lower()}{mend[1:]}" in answer.findings[0].advice for answer in (survey_, dry))


def test_shims_are_a_row_for_each_stud_and_a_column_for_each_height(good: Survey) -> None:
    told = shims(good.adjusted.pocket, good.placed)
    assert told.heights == ('2" up', '42" up', '82" up')
    assert [row[0] for row in told.rows] == [wall for wall in STUDS for _ in STUDS[wall]]
    assert told.rows[4][1] == 'stud 1, 3/4" from the left'
    assert all(len(thick) == len(LEVELS) and all(thick) for _, _, thick in told.rows)


def test_a_face_in_the_way_is_to_be_planed_to_the_next_sixteenth_up() -> None:
    answer = survey_stage(job(survey(side=-0.3)), "1")
    told = shims(answer.adjusted.pocket, answer.placed)
    sides = {thick for wall, _, row in told.rows if wall != "back" for thick in row}
    assert sides <= {'plane 5/16"', 'plane 3/8"'}, "0.3 in at either side"


def test_drain_threshold_and_pipe() -> None:
    dry = dry_set_stage(GOOD, "1")
    lines = place_lines(dry.placed)
    assert any("drain" in line and "core" in line for line in lines)
    assert any(line.startswith("The threshold lies ") for line in lines)
    assert 'The threshold rises 1/2" over the finished floor.' in lines
    assert lines[-1].startswith("Cut the drain pipe ") and "below the finished floor" in lines[-1]


def test_what_nobody_measured_is_left_out() -> None:
    few = survey_stage(job(survey()[:12]), "1")
    (line,) = place_lines(place(UNIT, few.adjusted.pocket))
    assert line.startswith("Cut the drain pipe "), "that the cut sheet alone tells"


def test_a_wrong_measure_stands_with_what_the_others_let_expect() -> None:
    wrong = [m.model_copy(update={"line": 7}) for m in changed(survey(), What.WIDTH, 1.0, only=5)]
    (line,) = blunder_lines(survey_stage(job(wrong), "1").adjusted.blunders)
    assert line == 'Width, 16" from the back, 42" up (line 7): 65-1/2" was read, the others let expect 64-1/2".'


def test_a_refused_measure_says_why(good: Survey) -> None:
    astray = replace(good.adjusted, refused=(Refused(measure(What.WIDTH, WIDE, y=300.0, z=2.0), "lies afar"),))
    assert refused_lines(astray) == ('width, 300" from the back, 2" up: it lies afar.',)


def test_places_on_a_wall() -> None:
    zone = Zone("grab bar", Wall.LEFT, 6 * INCH, 30 * INCH, 33 * INCH, 36 * INCH, ())
    assert zone_place(zone) == '6" to 30" from the unit\'s back corner, 33" to 36" up'
    assert zone_place(replace(zone, low=37 * INCH)) == "the picked rules leave no place"
    piece = Blocking(1.5 * INCH, 15.25 * INCH, 30 * INCH, 37.25 * INCH)
    assert board_place(Wall.BACK, piece) == '1-1/2" to 15-1/4" from the left stud face, 30" to 37-1/4" up'
