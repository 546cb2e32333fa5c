"""A rule row and a rule set as they stand in the data files, and a job's own rule.

RuleRow     one limit: what it says, exactly what it binds, where it stands, how sure that is
LocalRow    a rule of the job's own, which may replace rows of the picked sets
RuleSet     one file: the rows of one standard in one edition
Rule        a row made ready: its Requirement, and its other reading where the text has two
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from drainward.errors import QuantityError
from drainward.finding import Certainty, Requirement, Source
from drainward.rules.quantities import QUANTITIES
from drainward.rules.written import phrase, read_limit

__all__ = ["SHOWERS", "LocalRow", "Rule", "RuleRow", "RuleSet", "Shower"]

Shower = Literal["transfer", "standard roll-in", "alternate roll-in", "not accessible"]
SHOWERS: tuple[Shower, ...] = ("transfer", "standard roll-in", "alternate roll-in", "not accessible")


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", str_min_length=1)


class RuleRow(_Frozen):
    """One limit on one quantity, as written.

    low, high     : trade quantities as written; equal for a size stated without minimum or maximum
    other_reading : the same limit as the text states it a second time, with another value
    allowance     : for such a size, how far off no trade tolerance would reach
    base          : length over which a slope or gap is judged, where the text states one
    only_where    : the job's choice without which the row does not apply
    disputed      : why the row never decides alone though it was read; conflicts: the rows that it disagrees with
    shower        : shower types it applies to; none means those of its set
    """

    id: str
    what: str
    quantity: str
    low: str | None = None
    high: str | None = None
    other_reading: str | None = None
    allowance: str | None = None
    base: str | None = None
    binds: str
    section: str
    certainty: Certainty
    seen_in: str | None = None
    decided_by: str | None = None
    exceptions: tuple[str, ...] = ()
    note: str | None = None
    shower: tuple[Shower, ...] = ()
    only_where: Literal["clear_space_in_shower"] | None = None
    disputed: str | None = None
    conflicts: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _sound(self) -> Self:
        measured = QUANTITIES.get(self.quantity)
        if measured is None:
            raise ValueError(f'"{self.quantity}" is no known quantity; one of: {", ".join(QUANTITIES)}')
        if self.low is None and self.high is None:
            raise ValueError('has neither "low" nor "high"')
        try:
            low, high = self._si(self.low), self._si(self.high)
            self._si(self.other_reading)
            self._si(self.allowance)
            self.base_length()
        except QuantityError as error:
            raise ValueError(str(error)) from error
        if low is not None and high is not None and low > high:
            raise ValueError(f'low "{self.low}" is more than high "{self.high}"')
        if (self.allowance is not None) != (low is not None and low == high):
            raise ValueError('"allowance" goes with a size whose low and high are equal, and only with it')
        if self.other_reading is not None and self.low is not None and self.high is not None:
            raise ValueError('"other_reading" goes with a limit on one side')
        if self.certainty in (Certainty.SEEN, Certainty.SECONDARY, Certainty.COMPUTED) and self.seen_in is None:
            raise ValueError(f'"seen_in" is missing: where was it {self.certainty}?')
        if self.conflicts and self.disputed is None:
            raise ValueError('"conflicts" needs "disputed" to say why')
        return self

    def _si(self, written: str | None) -> float | None:
        return None if written is None else read_limit(QUANTITIES[self.quantity].kind, written)

    def base_length(self) -> float | None:
        """The base, m."""
        return None if self.base is None else read_limit(QUANTITIES["inside.width"].kind, self.base)

    def rule(self, standard: str, edition: str, decided_by: str, shower: tuple[Shower, ...]) -> Rule:
        """The row made ready, with its set's standard and defaults."""
        requirement = Requirement(
            id=self.id,
            what=self.what,
            quantity=self.quantity,
            low=self._si(self.low),
            high=self._si(self.high),
            unit=QUANTITIES[self.quantity].kind.value,
            source=Source(standard, edition, self.section, self.certainty, self.seen_in or ""),
            binds=self.binds,
            exceptions=self.exceptions,
            decided_by=self.decided_by or decided_by,
            written=phrase(self.low, self.high),
            base=self.base_length(),
            disputed=self.disputed or "",
            allowance=self._si(self.allowance) or 0.0,
        )
        return Rule(requirement, self._si(self.other_reading), self.other_reading, self.shower or shower, self)


class LocalRow(RuleRow):
    """A rule of the job's own: what its authority, client or contract asks for. It decides like a printed one."""

    what: str
    binds: str = "what the job's own rule says"
    section: str = "job.toml, rules.local"
    certainty: Literal[Certainty.LOCAL] = Certainty.LOCAL
    standard: str = "the job's own rule"
    edition: str = Field(default="", min_length=0)
    replaces: tuple[str, ...] = ()


class RuleSet(_Frozen):
    """One data file.

    tolerances : what the standard says about tolerances;  shower : types for rows that name none
    ask        : a question that the whole set raises for a barrier-free unit, put before anything is ordered
    """

    id: str
    name: str
    standard: str
    edition: str = Field(min_length=0)
    decided_by: str
    tolerances: str
    note: str | None = None
    ask: str | None = None
    shower: tuple[Shower, ...] = SHOWERS
    rule: tuple[RuleRow, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        ids = [row.id for row in self.rule]
        if len(set(ids)) != len(ids):
            raise ValueError(f"{self.id}: a row id stands twice")
        for row in self.rule:
            if not row.id.startswith(f"{self.id}/"):
                raise ValueError(f'row "{row.id}" does not start with "{self.id}/"')
            if missing := set(row.conflicts) - set(ids):
                raise ValueError(f'row "{row.id}" conflicts with unknown rows {sorted(missing)}')
        return self

    def rules(self) -> tuple[Rule, ...]:
        """Every row made ready."""
        return tuple(row.rule(self.standard, self.edition, self.decided_by, self.shower) for row in self.rule)


@dataclass(frozen=True, slots=True)
class Rule:
    """A row made ready; other is the limit's other reading in SI, other_written as it stands."""

    requirement: Requirement
    other: float | None
    other_written: str | None
    shower: tuple[Shower, ...]
    row: RuleRow
