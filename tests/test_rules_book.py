"""A job's rule book: picking, local rules, confirmed rows, and errors that name the place."""

from __future__ import annotations

from typing import Any

import pytest

from drainward.errors import InputError
from drainward.finding import Certainty
from drainward.job.model import RuleChoice
from drainward.rules import load_rules

LEAST = "us-plumbing-irc-2021/P2709.1-least"
EIGHTH, QUARTER = "us-plumbing-upc-2024/408.5-least-eighth", "us-plumbing-upc-2024/408.5-least-quarter"
LOCAL: dict[str, Any] = {
    "id": "job/fall", "what": "Least fall, read as 2 percent", "quantity": "floor.fall.least", "low": "2 %",
    "replaces": (LEAST,),
}  # fmt: skip


def ids(choice: RuleChoice, quantity: str, shower: str = "standard roll-in") -> list[str]:
    return [requirement.id for requirement in load_rules(choice).requirements(quantity, shower)]


def test_the_usual_choice() -> None:
    assert [LEAST] == ids(RuleChoice(), "floor.fall.least")
    assert ["us-ada-2010/608.2.2-width"] == ids(RuleChoice(), "inside.width")
    assert ["us-ada-2010/608.2.1-width"] == ids(RuleChoice(), "inside.width", "transfer")
    assert [] == ids(RuleChoice(), "inside.width", "not accessible")
    assert [] == ids(RuleChoice(), "no.such.quantity")


def test_clear_space_binds_the_shower_floor_only_where_the_job_says_so() -> None:
    assert [] == ids(RuleChoice(), "clear_space.slope")
    inside = ids(RuleChoice(clear_space_in_shower=True), "clear_space.slope")
    assert ["us-ada-2010/304.2-shower", "us-ada-2010/305.2-shower"] == inside
    assert len(ids(RuleChoice(), "outside.slope")) == 3


def test_straightedge_rows_carry_their_base() -> None:
    book = load_rules(RuleChoice(use=("straightedge",)))
    bases = [r.base for r in book.requirements("floor.straightedge.gap", "not accessible")]
    assert [pytest.approx(3.048), pytest.approx(0.3048)] == bases


def test_a_local_rule_takes_the_place_of_what_it_replaces() -> None:
    book = load_rules(RuleChoice(local=(LOCAL,)))
    (requirement,) = book.requirements("floor.fall.least", "standard roll-in")
    assert ("job/fall", 0.02, Certainty.LOCAL) == (requirement.id, requirement.low, requirement.source.certainty)
    assert () == book.requirements("floor.fall.least", "transfer"), "it binds the job's own shower type"


def test_a_confirmed_row_decides_and_its_rival_is_gone() -> None:
    use = ("us-plumbing-upc-2024",)
    open_book = load_rules(RuleChoice(use=use)).requirements("floor.fall.least", "transfer")
    assert [EIGHTH, QUARTER] == [r.id for r in open_book]
    assert all(r.disputed for r in open_book)
    (settled,) = load_rules(RuleChoice(use=use, confirmed=(EIGHTH,))).requirements("floor.fall.least", "transfer")
    assert (EIGHTH, "", Certainty.LOCAL) == (settled.id, settled.disputed, settled.source.certainty)


@pytest.mark.parametrize(
    ("choice", "message"),
    [
        (
            {"use": ("us-ada",)},
            'job.toml, field "rules.use": "us-ada" is no rule set; expected one of: au-as1428-2009, au-ncc-2022, ',
        ),
        (
            {"confirmed": ("us-ada-2010/999",)},
            'job.toml, field "rules.confirmed": "us-ada-2010/999" is no row of the picked rule sets; expected',
        ),
        (
            {"use": ("us-plumbing-upc-2024",), "confirmed": (EIGHTH, QUARTER)},
            f'"{EIGHTH}" contradicts {QUARTER}; expected only one of the two to be confirmed',
        ),
        (
            {"local": ({**LOCAL, "low": "2 percents"},)},
            'job.toml, field "rules.local[0]": "" "2 percents" is not a slope; expected one such as',
        ),
        (
            {"local": ({**LOCAL, "lowest": "2 %"},)},
            'job.toml, field "rules.local[0].lowest": "2 %" Extra inputs are not permitted',
        ),
        (
            {"local": ({**LOCAL, "replaces": ("us-ada-2010/1",)},)},
            'job.toml, field "rules.local[0].replaces": "us-ada-2010/1" is no row of the picked rule sets',
        ),
        ({"local": (LOCAL, LOCAL)}, '"rules.local[1].id": "job/fall" is taken; expected an id of its own'),
    ],
)
def test_errors_name_the_place(choice: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError) as caught:
        load_rules(RuleChoice(**choice))
    assert message in str(caught.value)


def test_every_problem_is_reported_at_once() -> None:
    with pytest.raises(InputError) as caught:
        load_rules(RuleChoice(use=("a", "b"), confirmed=("c",)))
    assert ["a", "b", "c"] == [problem.got for problem in caught.value.problems]
