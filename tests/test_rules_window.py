"""Before anything is set: the published slope windows, what a hand instrument can prove, and what to ask."""

from __future__ import annotations

import pytest
from shower_units import INCH, cone, level

from drainward.finding import Finding, Verdict
from drainward.job.model import Instrument, Job, Room, RuleChoice, UnitModel
from drainward.rules import load_rules
from drainward.rules.window import QUANTITIES, JobOutlook, best_instrument, job_warnings, slope_window

TOOL = Instrument(id="d", name="digital level", length=0.61, u_slope=0.0005)


def outlook(choice: RuleChoice, *units: UnitModel, tools: tuple[Instrument, ...] = (TOOL,)) -> JobOutlook:
    job = Job(name="job", rules=choice, units={u.id: u for u in units}, instruments={tool.id: tool for tool in tools})
    return job_warnings(job, load_rules(choice))


def named(found: JobOutlook, id: str) -> Finding:
    (finding,) = [finding for finding in found.findings if finding.id == id]
    return finding


CLEAR = RuleChoice(clear_space_in_shower=True)


@pytest.mark.parametrize(
    ("choice", "other", "low", "high", "ratio"),
    [
        # greatest over least fall: limits on longest over shortest run with a level rim and one point drain
        (RuleChoice(), False, 1 / 48, 1 / 24, 2.0),
        (RuleChoice(), True, 0.02, 0.04, 2.0),
        (RuleChoice(use=("au-ncc-2022",)), False, 1 / 80, 1 / 50, 1.6),
        (RuleChoice(use=("au-as1428-2009",)), False, 1 / 80, 1 / 60, 1.333),
        (CLEAR, True, 0.02, 1 / 48, 1.042),
        (CLEAR, False, 1 / 48, 1 / 48, 1.0),
    ],
)
def test_published_windows(choice: RuleChoice, other: bool, low: float, high: float, ratio: float) -> None:
    window = slope_window(load_rules(choice).select(QUANTITIES, choice.shower), other)
    assert window is not None
    assert (low, high) == pytest.approx((window.low, window.high))
    assert ratio == round(window.high / window.low, 3)


def test_two_percent_to_one_in_forty_eight_is_the_width_of_a_pencil_line() -> None:
    """The reference case: 0.083 % wide, 0.64 mm over 30 in and 1.27 mm over 60 in."""
    window = slope_window(load_rules(CLEAR).select(QUANTITIES, CLEAR.shower), other_reading=True)
    assert window is not None
    assert round(window.width * 100, 3) == 0.083
    assert 0.635 == pytest.approx(window.width * 762)
    assert 1.27 == pytest.approx(window.width * 1524)


def test_a_window_of_no_width_is_said_with_its_question() -> None:
    found = outlook(CLEAR)
    printed, percent = named(found, "window.slope"), named(found, "window.slope.percent")
    assert (Verdict.NOT_PROVEN, 0.0) == (printed.verdict, printed.value)
    assert percent.verdict is Verdict.NOT_PROVEN
    assert 'it is 0.0833 % wide: 0.254 mm over 12", 0.635 mm over 30"' in percent.advice
    assert "No single reading with digital level" in percent.advice
    assert printed.limit == "wider than 0.164 %: 2 × 1.645 × 0.05 % of digital level"
    (question,) = found.questions
    assert "Does the second bind inside the shower here, or only the floor outside?" in question.text
    assert "read as the ratio or as 2 %" in question.text
    assert question.to == (
        "the building or plumbing official; the owner and the building official "
        "(in the end the Department of Justice or a court)"
    )


def test_a_wide_window_raises_no_question() -> None:
    found = outlook(RuleChoice())
    assert [Verdict.MEETS] == [finding.verdict for finding in found.findings]
    assert () == found.questions


def test_the_same_window_may_be_too_narrow_for_a_poorer_instrument() -> None:
    poor = TOOL.model_copy(update={"u_slope": 0.007})
    choice = RuleChoice()
    assert Verdict.NOT_PROVEN is named(outlook(choice, tools=(poor,)), "window.slope").verdict


def test_an_empty_window_fails() -> None:
    local = {"id": "job/steep", "what": "Least fall", "quantity": "floor.fall.least", "low": "5 %"}
    found = outlook(RuleChoice(local=(local,)))
    finding = named(found, "window.slope")
    assert finding.verdict is Verdict.FAILS
    assert "no floor can satisfy both" in finding.advice
    assert "no floor can satisfy both" in found.questions[0].why


def test_a_window_that_hangs_on_a_disputed_row_stays_open_and_is_asked_about() -> None:
    found = outlook(RuleChoice(use=("us-plumbing-upc-2024",)))
    finding = named(found, "window.slope")
    assert finding.verdict is Verdict.NOT_PROVEN
    assert "It hangs on us-plumbing-upc-2024/408.5-least-quarter, which may not decide" in finding.advice
    asked = " ".join(question.why for question in found.questions)
    assert "us-plumbing-upc-2024/408.5-least-eighth" in asked
    assert "us-plumbing-upc-2024/408.5-least-quarter" in asked


def test_a_set_may_raise_a_question_of_its_own() -> None:
    found = outlook(RuleChoice(use=("us-plumbing-irc-2009",)))
    assert "requires a finished curb threshold" in found.questions[0].text


def test_no_slope_rules_no_window() -> None:
    assert JobOutlook((), ()) == outlook(RuleChoice(use=("practice",)))


@pytest.mark.parametrize(
    ("tools", "name", "u"),
    [
        ((), "a site level good to ±0.1°", 0.0010077),
        ((TOOL,), "digital level", 0.0005),
        ((TOOL, Instrument(id="w", name="level and wedge", length=1.2, u=0.0003)), "level and wedge", 0.00025),
        ((Instrument(id="l", name="laser", u=0.0005),), "laser", 0.0005 * 2**0.5 / 0.3048),
        ((Instrument(id="t", name="tape"),), "a site level good to ±0.1°", 0.0010077),
    ],
)
def test_best_instrument(tools: tuple[Instrument, ...], name: str, u: float) -> None:
    found = best_instrument(tools, 0.3048)
    assert name == found[0]
    assert u == pytest.approx(found[1], rel=1e-4)


@pytest.mark.parametrize(
    ("choice", "unit", "verdict"),
    [
        (RuleChoice(), level(60, 36, (30, 18), 0.7), Verdict.MEETS),  # 1.667 of 2.0
        (RuleChoice(), level(60, 30, (30, 15), 0.625), Verdict.NOT_PROVEN),  # 2.0 of 2.0: one height, no tolerance
        (RuleChoice(), level(60, 30, (12, 15), 0.7), Verdict.FAILS),  # 4.0 of 2.0
        # pcgroup.net.au, NCC 2022: an 1800 x 900 shower "cannot possibly" have one floor waste
        (RuleChoice(use=("au-ncc-2022",)), level(70.866, 35.433, (35.433, 17.7165), 0.5), Verdict.FAILS),
        (RuleChoice(use=("au-as1428-2009",)), level(60, 36, (30, 18), 0.4), Verdict.FAILS),  # 1.667 of 1.333
        (CLEAR, level(36, 36, (18, 18), 0.375), Verdict.NOT_PROVEN),  # 1.0 of 1.0
    ],
)
def test_geometry_of_a_level_rim(choice: RuleChoice, unit: UnitModel, verdict: Verdict) -> None:
    assert verdict is named(outlook(choice, unit), "window.geometry@unit").verdict


def test_what_would_do_is_named() -> None:
    off = level(60, 36, (12, 18), 0.7, name="off centre")
    good = level(60, 36, (30, 18), 0.7, name="centred")
    found = outlook(RuleChoice(), off, good)
    advice = named(found, "window.geometry@off centre").advice
    assert 'a drain at 30" from the left wall and 18" from the back wall would do (ratio 1.667)' in advice
    assert "these would do, by their cut sheets: centred." in advice
    assert "off centre has 4.000" in found.questions[0].text
    impossible = named(outlook(RuleChoice(use=("au-ncc-2022",)), off), "window.geometry@off centre").advice
    assert "the best drain place, its centre, still gives 1.667; it takes a rim that is not level" in impossible
    assert "No unit model of this job would do" in impossible


def test_moulded_falls_of_units() -> None:
    least, greatest = "us-plumbing-irc-2021/P2709.1-least", "us-plumbing-irc-2021/P2709.1-greatest"
    good = outlook(RuleChoice(), cone(60, 36, (30, 18), 0.031))
    assert [Verdict.MEETS] * 2 == [named(good, f"{id}@cone").verdict for id in (least, greatest)]
    flat = outlook(RuleChoice(), level(60, 30, (30, 15), 0.3))
    assert named(flat, f"{least}@unit").verdict is Verdict.FAILS
    assert "Set level, this unit cannot do it." in named(flat, f"{least}@unit").advice
    edge = outlook(RuleChoice(), level(60, 30, (30, 15), 0.625))
    assert named(edge, f"{least}@unit").verdict is Verdict.NOT_PROVEN
    assert "Along the line from a corner the moulded fall is only 1.86 %" in named(edge, f"{least}@unit").advice


def test_moulded_falls_are_as_uncertain_as_the_height_over_its_run() -> None:
    """±1/16 in, evenly, over the longest run for the least fall and the shortest for the greatest."""
    found = outlook(RuleChoice(), level(60, 36, (20, 15), 0.7))
    height = 0.0625 / 3**0.5
    assert height / 40 == pytest.approx(named(found, "us-plumbing-irc-2021/P2709.1-least@unit").u)
    assert height / 15 == pytest.approx(named(found, "us-plumbing-irc-2021/P2709.1-greatest@unit").u)


def test_sizes_of_units() -> None:
    small = outlook(RuleChoice(), level(48, 36, (24, 18), 0.7))
    finding = named(small, "us-ada-2010/608.2.2-width@unit")
    assert finding.verdict is Verdict.FAILS
    assert "Do not order it for this room." in finding.advice
    exact = named(outlook(RuleChoice(), level(60, 36, (30, 18), 0.7)), "us-ada-2010/608.2.2-width@unit")
    assert exact.verdict is Verdict.NOT_PROVEN
    assert "measure the unit, centre to centre" in exact.advice
    roomy = outlook(RuleChoice(), level(62, 36, (31, 18), 0.7))
    sizes = [finding.verdict for finding in roomy.findings if "608.2" in finding.id or "P2708" in finding.id]
    assert [Verdict.MEETS] * 4 == sizes


def test_only_units_that_a_room_takes_are_judged() -> None:
    units = {name: level(60, 36, (30, 18), 0.7, name=name) for name in ("a", "b")}
    job = Job(name="job", units=units, rooms=(Room(room="101", unit="b"),))
    found = job_warnings(job, load_rules(job.rules))
    assert {"b"} == {finding.id.partition("@")[2] for finding in found.findings if "@" in finding.id}


def test_no_finding_calls_a_unit_compliant() -> None:
    found = outlook(CLEAR, level(60, 36, (30, 18), 0.7), level(36, 36, (10, 18), 0.7, name="b"))
    words = " ".join(f"{f.what} {f.advice} {f.limit}" for f in found.findings)
    words += " ".join(f"{q.text} {q.why}" for q in found.questions)
    assert "complian" not in words.lower()


def with_threshold(rise: float, lip: float | None = None, pipe: float = 2.0) -> UnitModel:
    """A unit whose threshold rises and stands over its floor as given, in inches."""
    unit = level(62, 36, (31, 18), 0.7)
    drain = unit.drain.model_copy(update={"pipe": pipe * INCH})
    moulded = {"threshold_height": rise * INCH, "threshold_lip": None if lip is None else lip * INCH, "drain": drain}
    return unit.model_copy(update=moulded)


RISE, LIP = "us-ada-2010/608.7-roll-in@unit", "practice/lip@unit"


def test_a_lip_under_the_limit_raises_nothing() -> None:
    found = outlook(RuleChoice(), with_threshold(0.375))
    assert named(found, RISE).verdict is Verdict.MEETS
    assert LIP not in {finding.id for finding in found.findings}, "it would be met, and nobody needs to confirm it"
    assert () == found.questions


def test_a_threshold_at_its_limit_leaves_nothing_to_spare() -> None:
    finding = named(outlook(RuleChoice(), with_threshold(0.5)), RISE)
    assert finding.verdict is Verdict.NOT_PROVEN
    assert "agree the height of the finished floor outside before the recess is poured" in finding.advice


def test_a_unit_without_a_lip_is_asked_about() -> None:
    found = outlook(RuleChoice(), with_threshold(0.0))
    finding = named(found, LIP)
    assert (Verdict.NOT_PROVEN, True, 0.0) == (finding.verdict, finding.decides, finding.value)
    assert "the limit is disputed (no rule asks for a lip" in finding.advice
    (question,) = found.questions
    assert "has no lip at all" in question.text
    assert "What holds the water in: a fall of the floor outside back to it, a drain outside" in question.text
    assert question.to == "the designer, and the plumber for a drain outside"


def test_a_lip_sunk_below_the_finished_floor_counts_as_high_as_it_is_moulded() -> None:
    found = outlook(RuleChoice(), with_threshold(0.0, lip=0.5))
    assert named(found, RISE).verdict is Verdict.MEETS
    assert () == found.questions


def test_a_threshold_too_high_may_be_sunk_with_its_lip() -> None:
    found = outlook(RuleChoice(), with_threshold(1.0))
    assert named(found, RISE).verdict is Verdict.FAILS
    (question,) = found.questions
    assert 'stands 1" over its shower floor and rises 1" over the finished floor' in question.text
    assert 'Can it be sunk 1/2" deeper, with its lip as it is?' in question.text
    assert "once the bed is poured neither can be changed" in question.why


def test_a_unit_that_can_satisfy_neither_is_said_so() -> None:
    found = outlook(RuleChoice(), with_threshold(1.0, lip=0.125))
    (question,) = found.questions
    assert "The lip is asked to be at least 1/4 in (common practice, no source)" in question.text
    assert "The rise may be no more than 1/2 in" in question.text
    assert "No depth of the recess gives both" in question.text


@pytest.mark.parametrize(
    ("rules", "pipe", "verdict"),
    [
        ("us-plumbing-ipc/421.3-pipe", 1.5, Verdict.MEETS),
        ("us-plumbing-ipc/421.3-pipe", 1.61, Verdict.MEETS),  # bore of 1-1/2 in schedule 40
        ("us-plumbing-ipc/421.3-pipe", 1.25, Verdict.FAILS),
        ("us-plumbing-ipc/421.3-pipe", 1.38, Verdict.NOT_PROVEN),  # bore of 1-1/4 in schedule 40
        ("us-plumbing-upc/408.4-pipe", 2.0, Verdict.MEETS),
        ("us-plumbing-upc/408.4-pipe", 1.61, Verdict.FAILS),
    ],
)
def test_the_pipe_is_judged_by_its_nominal_size(rules: str, pipe: float, verdict: Verdict) -> None:
    use = rules.partition("/")[0]
    found = outlook(RuleChoice(use=(use,), confirmed=(rules,)), with_threshold(0.375, pipe=pipe))
    assert verdict is named(found, f"{rules}@unit").verdict


def test_a_remembered_pipe_size_does_not_decide() -> None:
    found = outlook(RuleChoice(use=("us-plumbing-upc",)), with_threshold(0.375))
    finding = named(found, "us-plumbing-upc/408.4-pipe@unit")
    assert (Verdict.NOT_PROVEN, False) == (finding.verdict, finding.decides)
