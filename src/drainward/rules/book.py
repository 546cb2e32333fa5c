"""The rules of one job: the picked sets, its local rules, and what it confirmed.

rule_set_ids   the sets that exist
read_set       one set from the package's data
load_rules     a job's choice -> its RuleBook
RuleBook       asks: which requirements bind this quantity, for this shower
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from pydantic import ValidationError

from drainward.errors import InputError, Problem
from drainward.finding import Certainty, Requirement
from drainward.job.model import RuleChoice
from drainward.rules.row import LocalRow, Rule, RuleSet

__all__ = ["RuleBook", "load_rules", "read_set", "rule_set_ids"]

JOB_FILE = "job.toml"


@dataclass(frozen=True, slots=True)
class RuleBook:
    """The rules that a job picked, in the order of its sets, local rules first."""

    rules: tuple[Rule, ...]
    sets: tuple[RuleSet, ...]

    def requirements(self, quantity: str, shower: str) -> tuple[Requirement, ...]:
        """Every requirement on a quantity that applies to this type of shower; none is an empty tuple."""
        return tuple(rule.requirement for rule in self.select((quantity,), shower))

    def select(self, quantities: Iterable[str], shower: str) -> tuple[Rule, ...]:
        """The same as rules, with their other readings."""
        wanted = frozenset(quantities)
        return tuple(r for r in self.rules if r.requirement.quantity in wanted and shower in r.shower)


@cache
def rule_set_ids() -> tuple[str, ...]:
    """The ids of all sets in the package, sorted."""
    names = (entry.name for entry in files("drainward.rules").joinpath("data").iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in names if name.endswith(".toml")))


@cache
def read_set(id: str) -> RuleSet:
    """One set. Raises InputError, naming the sets that exist, when there is none of that id."""
    if id not in rule_set_ids():
        expected = f"is no rule set; expected one of: {', '.join(rule_set_ids())}"
        raise InputError((Problem(JOB_FILE, None, "rules.use", id, expected),))
    text = files("drainward.rules").joinpath("data", f"{id}.toml").read_text(encoding="utf-8")
    return RuleSet.model_validate(tomllib.loads(text))


def load_rules(choice: RuleChoice) -> RuleBook:
    """The rule book of a job's choice.

    A local rule takes the place of the rows that it `replaces`. A confirmed row counts as local: it decides, and the
    rows it was in conflict with are dropped. Raises InputError with every problem found.
    """
    problems: list[Problem] = []
    sets: list[RuleSet] = []
    for id in dict.fromkeys(choice.use):
        try:
            sets.append(read_set(id))
        except InputError as error:
            problems.extend(error.problems)
    rules = {rule.requirement.id: rule for rule_set in sets for rule in rule_set.rules()}
    known = frozenset(rules)
    local = _local_rows(choice, known, problems)
    dropped = _dropped(choice, rules, local, problems)
    if problems:
        raise InputError(tuple(problems))
    own = tuple(row.rule(row.standard, row.edition, "whoever set the job's own rule", ()) for row in local)
    picked = tuple(
        _confirm(rule) if id in choice.confirmed else rule
        for id, rule in rules.items()
        if id not in dropped and _applies(rule, choice)
    )
    return RuleBook(tuple(_everywhere(rule, choice) for rule in own) + picked, tuple(sets))


def _local_rows(choice: RuleChoice, known: frozenset[str], problems: list[Problem]) -> tuple[LocalRow, ...]:
    rows: list[LocalRow] = []
    for index, fields in enumerate(choice.local):
        place = f"rules.local[{index}]"
        try:
            row = LocalRow.model_validate(fields)
        except ValidationError as error:
            problems.extend(_problems(error, place))
            continue
        if row.id in known or any(row.id == other.id for other in rows):
            problems.append(Problem(JOB_FILE, None, f"{place}.id", row.id, "is taken; expected an id of its own"))
        for id in row.replaces:
            if id not in known:
                expected = "is no row of the picked rule sets; expected the id of one"
                problems.append(Problem(JOB_FILE, None, f"{place}.replaces", id, expected))
        rows.append(row)
    return tuple(rows)


def _problems(error: ValidationError, place: str) -> Iterable[Problem]:
    for detail in error.errors(include_url=False):
        field = ".".join([place, *(str(part) for part in detail["loc"])])
        got = detail["input"] if isinstance(detail["input"], str) else ""
        yield Problem(JOB_FILE, None, field, got, detail["msg"].removeprefix("Value error, "))


def _dropped(
    choice: RuleChoice, rules: dict[str, Rule], local: tuple[LocalRow, ...], problems: list[Problem]
) -> frozenset[str]:
    """Rows that a local rule replaces or that a confirmed row was in conflict with."""
    dropped = {id for row in local for id in row.replaces}
    for id in choice.confirmed:
        if id not in rules:
            expected = "is no row of the picked rule sets; expected the id of one"
            problems.append(Problem(JOB_FILE, None, "rules.confirmed", id, expected))
            continue
        rivals = rules[id].row.conflicts
        for rival in rivals:
            if rival in choice.confirmed:
                expected = f"contradicts {rival}; expected only one of the two to be confirmed"
                problems.append(Problem(JOB_FILE, None, "rules.confirmed", id, expected))
        dropped.update(rivals)
    return frozenset(dropped)


def _applies(rule: Rule, choice: RuleChoice) -> bool:
    return rule.row.only_where is None or bool(getattr(choice, rule.row.only_where))


def _confirm(rule: Rule) -> Rule:
    source = replace(rule.requirement.source, certainty=Certainty.LOCAL)
    return replace(rule, requirement=replace(rule.requirement, source=source, disputed=""))


def _everywhere(rule: Rule, choice: RuleChoice) -> Rule:
    """A local rule that names no shower type binds the job's own."""
    return rule if rule.shower else replace(rule, shower=(choice.shower,))
