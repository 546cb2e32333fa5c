"""The unit as it arrived: what was measured is used, and a difference beyond its uncertainty is a finding."""

from __future__ import annotations

import job_texts
import numpy as np
import pytest

from drainward.errors import InputError
from drainward.finding import Verdict
from drainward.job import Received, Size
from drainward.job.received_file import sheet_size
from drainward.pocket.adjust import adjust
from drainward.pocket.receive import receive_findings, received_unit, unsure
from drainward.pocket.shape import Wall

INCH = 0.0254
UNIT = job_texts.unit_models()["alcove"]


def row(what: Size, inches: float, u: float = 1 / 32, **other: object) -> Received:
    return Received(
        id=what, room="1", what=what, value=inches * INCH, u=u * INCH, written=f"{inches} in", file="received.csv",
        **other,
    )  # fmt: skip


def test_nothing_measured_changes_nothing() -> None:
    assert received_unit(UNIT, ()) == (UNIT, {})
    assert receive_findings(UNIT, ()) == ()


def test_what_was_measured_takes_the_place_of_the_sheet() -> None:
    rows = [row(Size.OUTSIDE_WIDTH, 61.75), row(Size.DRAIN_X, 30.125), row(Size.FLANGE_WIDTH, 1.25)]
    unit, u = received_unit(UNIT, [*rows, row(Size.THRESHOLD_HEIGHT, 0.625, 1 / 64)])
    assert (unit.outside_width, unit.drain.x, unit.flange.width) == pytest.approx(
        (61.75 * INCH, 30.125 * INCH, 1.25 * INCH)
    )
    assert u == pytest.approx(
        {Size.OUTSIDE_WIDTH: INCH / 32, Size.DRAIN_X: INCH / 32, Size.FLANGE_WIDTH: INCH / 32,
         Size.THRESHOLD_HEIGHT: INCH / 64}
    )  # fmt: skip
    assert (unit.drain.y, unit.outside_depth, unit.floor) == (UNIT.drain.y, UNIT.outside_depth, UNIT.floor)


def test_every_size_has_its_place() -> None:
    for what in Size:
        if what is not Size.DAMAGE:
            size = Received(id="a", room="1", what=what, value=sheet_size(UNIT, what) * 1.001, u=1e-3)
            changed, _ = received_unit(UNIT, [size])
            assert changed != UNIT


def test_the_floors_heights_stay_on_its_edge() -> None:
    unit, _ = received_unit(UNIT, [row(Size.INSIDE_WIDTH, 59.5), row(Size.INSIDE_DEPTH, 35.5)])
    assert max(point.x for point in unit.floor.heights) == pytest.approx(59.5 * INCH)
    assert max(point.y for point in unit.floor.heights) == pytest.approx(35.5 * INCH)


def test_sizes_that_make_no_unit_are_refused_with_their_lines() -> None:
    rows = [row(Size.OUTSIDE_WIDTH, 59.0, line=2), row(Size.INSIDE_WIDTH, 60.0, line=5)]
    with pytest.raises(InputError) as refused:
        received_unit(UNIT, rows)
    told = [str(problem) for problem in refused.value.problems]
    assert told[0].startswith(
        'received.csv, line 2, column "value": "59.0 in" makes no unit with the rest of its sizes (the outside is'
    )
    assert "line 5" in told[1]


def test_readings_that_disagree_widen_each_other() -> None:
    _, agreed = received_unit(UNIT, [row(Size.DRAIN_X, 30.0), row(Size.DRAIN_X, 30.0)])
    _, apart = received_unit(UNIT, [row(Size.DRAIN_X, 30.0), row(Size.DRAIN_X, 30.5)])
    assert agreed[Size.DRAIN_X] == pytest.approx(INCH / 32 / 2**0.5)
    # Birge: two readings d apart have a standard uncertainty of d/2.
    assert apart[Size.DRAIN_X] == pytest.approx(INCH / 4)


@pytest.mark.parametrize(
    ("off", "verdict"),
    [(0.0, Verdict.MEETS), (0.1, Verdict.NOT_PROVEN), (0.15, Verdict.NOT_PROVEN), (0.25, Verdict.FAILS),
     (-0.25, Verdict.FAILS)],
)  # fmt: skip
def test_a_difference_is_judged_with_its_uncertainty(off: float, verdict: Verdict) -> None:
    (finding,) = receive_findings(UNIT, [row(Size.OUTSIDE_WIDTH, 61.5 + off)])
    assert (finding.id, finding.verdict) == ("receive/outside-width", verdict)
    assert finding.value == pytest.approx(off * INCH)
    assert finding.source.startswith("common practice, no source")
    assert ("larger" in finding.advice, "smaller" in finding.advice) == (off > 0.125, off < -0.125)


def test_the_sheets_own_tolerance_is_used() -> None:
    strict = UNIT.model_copy(update={"tolerance": INCH / 32})
    (finding,) = receive_findings(strict, [row(Size.OUTSIDE_WIDTH, 61.6, 1 / 64)])
    assert finding.verdict is Verdict.FAILS
    assert "cut sheet of Alcove 60 x 36" in finding.source


def test_damage() -> None:
    none = Received(id="a", room="1", what=Size.DAMAGE, value=0.0, written="none")
    crack = Received(id="b", room="1", what=Size.DAMAGE, value=1.0, written="crack, left flange")
    assert [finding.verdict for finding in receive_findings(UNIT, [none])] == [Verdict.MEETS]
    (finding,) = receive_findings(UNIT, [none, crack])
    assert (finding.verdict, finding.value) == (Verdict.FAILS, 1.0)
    assert "crack, left flange" in finding.advice


def test_the_doubt_on_a_size_moves_what_the_unit_meets() -> None:
    pocket = adjust(UNIT, ()).pocket
    n = len(pocket)
    doubted = unsure(pocket, {Size.OUTSIDE_WIDTH: 0.004, Size.OUTSIDE_DEPTH: 0.002, Size.DRAIN_Y: 0.003})
    more = doubted.covariance - pocket.covariance
    left, back, right = (np.flatnonzero(pocket.wall == wall)[0] for wall in (Wall.LEFT, Wall.BACK, Wall.RIGHT))
    np.testing.assert_allclose(more[left, left], 0.002**2, rtol=1e-6)
    np.testing.assert_allclose(more[left, right], -(0.002**2), rtol=1e-6)
    np.testing.assert_allclose(more[back, back], 0.002**2, rtol=1e-6)
    np.testing.assert_allclose(more[n + 1, n + 1], 0.003**2, rtol=1e-6)
    assert not more[left, back] and not more[n, n]
