"""The data: one test walks every row of every set; published numbers stand by section; bad rows are refused."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pydantic import ValidationError

from drainward.finding import Certainty
from drainward.rules import limit_words, read_set, rule_set_ids
from drainward.rules.quantities import QUANTITIES, Kind
from drainward.rules.row import Rule, RuleRow, RuleSet

INCH = 0.0254
GALLON = 231 * INCH**3
RULES = {rule.requirement.id: rule for id in rule_set_ids() for rule in read_set(id).rules()}

PUBLISHED: list[tuple[str, float | None, float | None]] = [
    # 2010 ADA Standards, by section; lengths in metres from the inch values
    ("us-ada-2010/303.2", None, 0.25 * INCH),
    ("us-ada-2010/303.3-bevel", None, 1 / 2),
    ("us-ada-2010/303.4", None, 0.5 * INCH),
    ("us-ada-2010/304.2", None, 1 / 48),
    ("us-ada-2010/304.3.1", 60 * INCH, None),
    ("us-ada-2010/305.2", None, 1 / 48),
    ("us-ada-2010/305.3-width", 30 * INCH, None),
    ("us-ada-2010/305.3-length", 48 * INCH, None),
    ("us-ada-2010/608.2.1-width", 36 * INCH, 36 * INCH),
    ("us-ada-2010/608.2.1-depth", 36 * INCH, 36 * INCH),
    ("us-ada-2010/608.2.2-width", 60 * INCH, None),
    ("us-ada-2010/608.2.2-depth", 30 * INCH, None),
    ("us-ada-2010/608.2.2-entry", 60 * INCH, None),
    ("us-ada-2010/608.2.3-width", 60 * INCH, None),
    ("us-ada-2010/608.2.3-depth", 36 * INCH, None),
    ("us-ada-2010/608.3.2", None, 6 * INCH),
    ("us-ada-2010/608.5.1-height", 38 * INCH, 48 * INCH),
    ("us-ada-2010/608.5.2-place", None, 27 * INCH),
    ("us-ada-2010/608.6-hose", 59 * INCH, None),
    ("us-ada-2010/608.6-temperature", None, 440 / 9),
    ("us-ada-2010/608.7-roll-in", None, 0.5 * INCH),
    ("us-ada-2010/608.7-transfer", None, 0.5 * INCH),
    ("us-ada-2010/609.2.1", 1.25 * INCH, 2 * INCH),
    ("us-ada-2010/609.3-wall", 1.5 * INCH, 1.5 * INCH),
    ("us-ada-2010/609.4", 33 * INCH, 36 * INCH),
    ("us-ada-2010/609.8", 250 * 4.4482216152605, None),
    ("us-ada-2010/610.3-height", 17 * INCH, 19 * INCH),
    # Slope windows of the plumbing codes by edition: 1/4 in 12 is 1:48, 1/2 in 12 is 1:24
    ("us-plumbing-irc-2021/P2709.1-least", 1 / 48, None),
    ("us-plumbing-irc-2021/P2709.1-greatest", None, 1 / 24),
    ("us-plumbing-irc-2009/P2709.1-greatest", None, 1 / 24),
    ("us-plumbing-irc-2021/P2708.1-area", 900 * INCH**2, None),
    ("us-plumbing-upc-2024/408.5-least-eighth", 1 / 96, None),
    ("us-plumbing-upc-2024/408.5-least-quarter", 1 / 48, None),
    ("us-plumbing-upc-2024/408.7-area", 1024 * INCH**2, None),
    ("us-california/11B-809.10.6.2", None, 1 / 24),
    ("au-ncc-2022/fall-least", 1 / 80, None),
    ("au-ncc-2022/fall-greatest", None, 1 / 50),
    ("au-as1428-2009/15.5.2c-least", 1 / 80, None),
    ("au-as1428-2009/15.5.2c-greatest", None, 1 / 60),
    # Hottest water of the plumbing codes: 120 F; NCC 2022 B2D5 and DIN EN 806-2 in degrees Celsius
    ("us-plumbing-irc-2021/P2708.4-temperature", None, 440 / 9),
    ("us-plumbing-upc/408.3-temperature", None, 440 / 9),
    ("us-plumbing-ipc/412.3-temperature", None, 440 / 9),
    ("au-ncc-2022/B2D5-other", None, 50.0),
    ("au-ncc-2022/B2D5-care", None, 45.0),
    ("de-hot-water/9.3.2-43", None, 43.0),
    # Flow of shower heads; US gallons of 231 cubic inches
    ("us-showerhead-federal/430.32p", None, 2.5 * GALLON / 60),
    ("us-showerhead-label/flow", None, 2.0 * GALLON / 60),
    ("us-showerhead-california/1605.3", None, 1.8 * GALLON / 60),
    ("au-ncc-2022/flow", None, 0.009 / 60),
    ("us-plumbing-irc-2021/P3201.7-pipe", 1.5 * INCH, None),
    ("us-plumbing-upc/408.4-pipe", 2.0 * INCH, None),
    # ANSI A108.02, 4.2.1: 1/16 in in 1 ft
    ("straightedge/1ft", None, INCH / 16),
]


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_every_row_is_whole(rule: Rule) -> None:
    requirement = rule.requirement
    measured = QUANTITIES[requirement.quantity]
    assert measured.kind.value == requirement.unit
    ends = [end for end in (requirement.low, requirement.high) if end is not None]
    assert ends
    assert all(math.isfinite(end) and end > 0 for end in ends)
    assert requirement.binds
    assert requirement.decided_by
    assert requirement.source.section
    assert rule.shower
    assert requirement.source.certainty is not Certainty.LOCAL
    for other in rule.row.conflicts:
        assert requirement.id in RULES[other].row.conflicts, "a conflict has two sides"
    assert limit_words(requirement).count("(") >= 1, "both trade and SI stand in the limit"


def test_no_id_stands_in_two_sets() -> None:
    assert sum(len(read_set(id).rule) for id in rule_set_ids()) == len(RULES)


def test_every_set_is_named_as_its_file() -> None:
    assert [read_set(id).id for id in rule_set_ids()] == list(rule_set_ids())


def test_every_quantity_of_the_draft_stage_has_a_rule() -> None:
    asked = {
        "floor.fall.least", "floor.fall.greatest", "floor.pond.depth", "floor.straightedge.gap", "threshold.rise",
        "clear_space.slope", "inside.width", "inside.depth", "inside.area",
    }  # fmt: skip
    assert asked <= {rule.requirement.quantity for rule in RULES.values()}


def test_every_quantity_of_the_water_test_has_a_rule() -> None:
    asked = {
        "spray.temperature", "shower.flow", "drain.capacity", "drain.pipe", "threshold.lip", "floor.water.spilled",
        "floor.puddle.depth",
    }  # fmt: skip
    assert asked <= {rule.requirement.quantity for rule in RULES.values()}


def test_every_limit_on_hot_water_says_how_fast_it_burns_or_why_it_does_not_decide() -> None:
    hot = [rule for rule in RULES.values() if rule.requirement.quantity == "spray.temperature"]
    assert len(hot) > 8
    assert all("burns skin in" in (rule.row.note or "") or rule.row.disputed for rule in hot)


def test_a_flow_at_a_stated_pressure_says_so_in_what_it_binds() -> None:
    american = [r for r in RULES.values() if r.requirement.quantity == "shower.flow" and r.row.id.startswith("us-")]
    assert all("at 80 psi" in rule.requirement.binds for rule in american)


def test_no_quantity_is_listed_that_no_rule_uses() -> None:
    assert {rule.requirement.quantity for rule in RULES.values()} == set(QUANTITIES)


@pytest.mark.parametrize(("id", "low", "high"), PUBLISHED, ids=[id for id, _, _ in PUBLISHED])
def test_published_numbers(id: str, low: float | None, high: float | None) -> None:
    requirement = RULES[id].requirement
    assert low == pytest.approx(requirement.low, rel=1e-9) if low is not None else requirement.low is None
    assert high == pytest.approx(requirement.high, rel=1e-9) if high is not None else requirement.high is None


def test_a_quarter_inch_per_foot_is_one_in_forty_eight() -> None:
    least = RULES["us-plumbing-irc-2021/P2709.1-least"].requirement.low
    assert least == RULES["us-ada-2010/305.2"].requirement.high


def test_ada_binds_the_shower_floor_only_where_the_job_says_so() -> None:
    ada = [rule for id, rule in RULES.items() if id.startswith("us-ada-2010/")]
    slopes = [rule for rule in ada if rule.requirement.quantity.startswith(("floor.fall", "clear_space.slope"))]
    assert slopes
    assert all(rule.row.only_where == "clear_space_in_shower" for rule in slopes)
    assert all("shower floor, only where" in rule.requirement.binds for rule in slopes)


def row(**changes: Any) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "id": "x/1", "what": "Least fall", "quantity": "floor.fall.least", "low": "1/4 in/ft", "binds": "shower floor",
        "section": "1", "certainty": "seen", "seen_in": "a page",
    }  # fmt: skip
    return {name: value for name, value in {**fields, **changes}.items() if value is not None}


def test_a_sound_row_is_read() -> None:
    assert RuleRow.model_validate(row()).quantity == "floor.fall.least"


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"quantity": "floor.fall"}, '"floor.fall" is no known quantity'),
        ({"low": None}, 'has neither "low" nor "high"'),
        ({"low": "1/4"}, "may be inches per foot or a ratio"),
        ({"low": "1:24", "high": "1:48"}, 'low "1:24" is more than high "1:48"'),
        ({"low": "1:48", "high": "1:48"}, '"allowance" goes with a size'),
        ({"allowance": "1 %"}, '"allowance" goes with a size'),
        ({"high": "1:24", "other_reading": "2 %"}, '"other_reading" goes with a limit on one side'),
        ({"seen_in": None}, '"seen_in" is missing: where was it seen?'),
        ({"certainty": "sure"}, "certainty"),
        ({"conflicts": ["x/2"]}, '"conflicts" needs "disputed"'),
        ({"base": "1:48"}, "is not one number with one unit"),
        ({"bends": "floor"}, "Extra inputs are not permitted"),
        ({"shower": ["bath"]}, "shower"),
        ({"binds": ""}, "at least 1 character"),
    ],
)
def test_a_bad_row_is_refused(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(ValidationError) as caught:
        RuleRow.model_validate(row(**changes))
    assert message in str(caught.value)


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ([row(), row()], "a row id stands twice"),
        ([row(id="y/1")], 'row "y/1" does not start with "x/"'),
        ([row(disputed="why", conflicts=["x/9"])], "conflicts with unknown rows ['x/9']"),
    ],
)
def test_a_bad_set_is_refused(rows: list[dict[str, Any]], message: str) -> None:
    head = {"id": "x", "name": "X", "standard": "X", "edition": "", "decided_by": "someone", "tolerances": "none"}
    with pytest.raises(ValidationError) as caught:
        RuleSet.model_validate({**head, "rule": rows})
    assert message in str(caught.value)


def test_kinds_are_si_units() -> None:
    assert {"m", "ratio", "m2", "degC", "N", "m3", "m3/s"} == {kind.value for kind in Kind}
