"""Readings that contradict the others: named, holding the verdict open, asked for again, settled by reading again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, cone_unit, reading, still

from drainward.finding import Verdict
from drainward.floor import draft_stage
from drainward.floor.belief import Belief, believe
from drainward.floor.contradict import ask_again, contradictions, unsettled, withheld
from drainward.floor.functionals import as_functionals
from drainward.floor.result import Draft
from drainward.floor.shape import moulded
from drainward.floor.surface import surfaces
from drainward.job.model import Job, Reading, ReadingKind, Room, RuleChoice

UNIT = cone_unit(0.03)
JOB = Job(
    name="One",
    units={"u": UNIT},
    rooms=(Room(room="1", unit="u"),),
    rules=RuleChoice(use=("us-plumbing-irc-2021", "practice")),
)
ODD = 40


def heights(columns: int = 12, rows: int = 7) -> tuple[Reading, ...]:
    """Spot heights of a perfect cone in one set-up, without noise."""
    gx, gy = np.meshgrid((np.arange(columns) + 0.5) * WIDTH / columns, (np.arange(rows) + 0.5) * DEPTH / rows)
    z = 1.1 + moulded(UNIT, gx.ravel(), gy.ravel())
    return tuple(
        reading(ReadingKind.HEIGHT, float(x), float(y), value=float(v), u=0.0002, id=f"h{k}", line=k + 2)
        for k, (x, y, v) in enumerate(zip(gx.ravel(), gy.ravel(), z, strict=True))
    )


def off_by(readings: tuple[Reading, ...], by: float) -> tuple[Reading, ...]:
    odd = readings[ODD].model_copy(update={"value": readings[ODD].value + by})
    return (*readings[:ODD], odd, *readings[ODD + 1 :])


def draft(*readings: Reading) -> Draft:
    return draft_stage(JOB, "1", readings, samples=128, threads=1)


def test_a_contradiction_holds_the_verdict_open_and_is_asked_for_again() -> None:
    d = draft(*off_by(heights(), INCH))
    assert d.verdict is Verdict.NOT_PROVEN
    assert [r.line for r in d.rejected] == [ODD + 2]
    (held,) = (f for f in d.findings if f.id == "readings.contradiction")
    assert held.verdict is Verdict.NOT_PROVEN
    assert f"line {ODD + 2}" in held.advice
    good = heights()[ODD]
    assert d.next_reading is not None
    assert (d.next_reading.kind, d.next_reading.x, d.next_reading.y) == ("height", good.x, good.y)


@pytest.mark.parametrize("apart", [0.0, 0.02])
def test_reading_there_again_settles_it(apart: float) -> None:
    good = heights()
    x, y = good[ODD].x + apart, good[ODD].y
    value = 1.1 + float(moulded(UNIT, np.array(x), np.array(y)))
    again = reading(ReadingKind.HEIGHT, x, y, value=value, u=0.0002, id="again", line=99)
    d = draft(*off_by(good, INCH), again)
    assert d.verdict is Verdict.MEETS
    assert [r.id for r in d.rejected] == [f"h{ODD}"]
    assert not any(f.id == "readings.contradiction" for f in d.findings)


def test_a_lone_height_of_another_set_up_settles_nothing() -> None:
    """Its datum is free: whatever it reads, it agrees."""
    good = heights()
    moved = {"id": "again", "setup": "second", "value": good[ODD].value + 0.7, "line": 99}
    d = draft(*off_by(good, INCH), good[ODD].model_copy(update=moved))
    assert d.verdict is Verdict.NOT_PROVEN


def test_readings_that_agree_are_left_in_peace() -> None:
    d = draft(*heights())
    assert d.rejected == ()
    assert d.verdict is Verdict.MEETS


def belief(readings: tuple[Reading, ...], chance: dict[int, float]) -> tuple[Belief, tuple[Reading, ...]]:
    """A belief that takes some readings for blunders with stated chances."""
    f, used, _ = as_functionals(UNIT, readings)
    b = believe(WIDTH, DEPTH, f.apply(moulded(UNIT, f.x, f.y)), f, particles=100)
    element = np.full_like(b.particles.element, -1)
    for i, share in chance.items():
        element[: round(100 * share), 0] = np.where(
            element[: round(100 * share), 0] < 0, 1 + i, element[: round(100 * share), 0]
        )
    return replace(b, particles=replace(b.particles, element=element)), used


LEVEL = reading(ReadingKind.SLOPE, 0.2, 0.2, 0.43, 0.2, value=0.01, u=0.0009, id="l", line=2)


def test_only_what_is_more_likely_a_blunder_than_not_is_named() -> None:
    for share, named in ((0.4, False), (0.6, True)):
        b, used = belief((LEVEL,), {0: share})
        floors = surfaces(still(), UNIT, INCH)
        told = contradictions(b, used, floors)
        assert bool(told) is named
        assert bool(unsettled(b, used)) is named
    assert told[0].line == 2
    assert "chance of a blunder 60%" in told[0].why
    assert "read was 1" in told[0].why and "%" in told[0].why


@pytest.mark.parametrize(
    ("other", "settles"),
    [
        (LEVEL.model_copy(update={"id": "same"}), True),
        (LEVEL.model_copy(update={"id": "turned", "x": 0.43, "x2": 0.2}), True),
        (LEVEL.model_copy(update={"id": "near", "x": 0.22, "x2": 0.45}), True),
        (LEVEL.model_copy(update={"id": "across", "x": 0.315, "x2": 0.315, "y": 0.1, "y2": 0.33}), False),
        (LEVEL.model_copy(update={"id": "far", "x": 0.8, "x2": 1.03}), False),
        (LEVEL.model_copy(update={"id": "other kind", "kind": ReadingKind.WEDGE}), False),
    ],
    ids=lambda value: value.id if isinstance(value, Reading) else "",
)
def test_the_same_reading_once_more_settles_it_and_no_other(other: Reading, settles: bool) -> None:
    b, used = belief((LEVEL, other), {0: 0.9})
    assert unsettled(b, used) == (() if settles else (LEVEL,))


def test_a_second_reading_that_contradicts_too_settles_nothing() -> None:
    b, used = belief((LEVEL, LEVEL.model_copy(update={"id": "same"})), {0: 0.9})
    bad = replace(b.particles, element=np.tile([1, 2], (100, 1)))
    assert len(unsettled(replace(b, particles=bad), used)) == 2


def test_nothing_withheld_without_a_contradiction() -> None:
    assert withheld(()) == ()
    (held,) = withheld((LEVEL,))
    assert held.value == 1.0
    assert held.decides


def test_asking_again_is_the_same_reading() -> None:
    ask = ask_again(LEVEL)
    assert (ask.kind, ask.x, ask.y, ask.x2, ask.y2) == ("slope", 0.2, 0.2, 0.43, 0.2)
