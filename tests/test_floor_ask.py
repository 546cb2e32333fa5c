"""The next reading: it lies where the doubt lies, is worth what information theory says, and can be taken."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, cone_unit, reading
from scipy.integrate import quad

from drainward.floor.ask import DEFAULT_TOOLS, Tool, as_functional, next_reading, tools
from drainward.floor.functionals import as_functionals
from drainward.floor.result import Ask
from drainward.job.model import Instrument, ReadingKind

UNIT = cone_unit()
HEIGHT, WEDGE, SLOPE, CHORD = (ReadingKind(k) for k in ("height", "wedge", "slope", "chord"))
HERE, THERE = np.array([14 * INCH, 10 * INCH]), np.array([47 * INCH, 26 * INCH])
HALF = 3 * INCH


class Doubtful:
    """Floors that differ in two rises of unknown height; only the one HERE decides whether a floor conforms."""

    def __init__(self, count: int, size: float, seed: int = 0) -> None:
        rng = np.random.default_rng(seed)
        self.conforms = np.arange(count) % 2 == 0
        self.here = np.where(self.conforms, 0.0, size)
        self.there = size * rng.standard_normal(count)

    def heights(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        bells = [np.exp(-0.5 * ((x - c[0]) ** 2 + (y - c[1]) ** 2) / HALF**2)[:, None] for c in (HERE, THERE)]
        return (bells[0] * self.here + bells[1] * self.there).astype(np.float32)


def ask(floors: Doubtful, *of: Tool, **how: bool) -> tuple[Ask, float]:
    found = next_reading(UNIT, floors.heights, floors.conforms, of, np.random.default_rng(1), **how)
    assert found is not None
    return found


@pytest.mark.parametrize(
    "tool",
    [Tool("", SLOPE, 9 * INCH, 0.0009), Tool("", SLOPE, 24 * INCH, 0.0009), Tool("", WEDGE, 12 * INCH, 0.0002),
     Tool("", CHORD, 12 * INCH, 0.0002)],
    ids=lambda tool: f"{tool.kind} {tool.length / INCH:.0f} in",
)  # fmt: skip
def test_the_reading_lies_where_the_doubt_that_counts_lies(tool: Tool) -> None:
    """Whatever it is read with, it feels the rise that decides, and hardly the other."""
    found, gain = ask(Doubtful(400, 0.003), tool)
    f = as_functional(found, tool.u)
    one, other = (f.apply(np.exp(-0.5 * ((f.x - c[0]) ** 2 + (f.y - c[1]) ** 2) / HALF**2))[0] for c in (HERE, THERE))
    assert abs(0.003 * one) > 3 * tool.u
    assert abs(other) < 0.1 * abs(one)
    assert gain > 0.9, "a reading that tells the two apart is worth nearly the whole bit"
    assert found.kind == str(tool.kind)


def channel(ratio: float) -> float:
    """Bits that a value of 0 or `ratio`, evenly likely, tells through normal noise of standard deviation 1."""

    def loss(t: float) -> float:
        return float(np.exp(-t * t / 2) / np.sqrt(2 * np.pi) * np.log2(1 + np.exp(-ratio * t - ratio**2 / 2)))

    return 1.0 - quad(loss, -8, 8)[0]


def test_the_closed_form_of_the_channel() -> None:
    """Antipodal signals at a signal-to-noise ratio of 0 dB carry 0.486 bit (textbook value, from memory)."""
    assert channel(2.0) == pytest.approx(0.486, abs=0.001)


@pytest.mark.parametrize("ratio", [1.0, 2.0, 4.0])
def test_its_worth_is_the_information_of_a_binary_normal_channel(ratio: float) -> None:
    """A spot height on the top reads 0 or `ratio` standard uncertainties (C. E. Shannon, 1948; by quadrature)."""
    tool = Tool("laser", HEIGHT, 0.0, 0.003 / ratio)
    found, gain = ask(Doubtful(4000, 0.003), tool, datum_known=True)
    assert np.hypot(*(np.array([found.x, found.y]) - HERE)) < 2 * INCH
    assert gain == pytest.approx(channel(ratio), abs=0.06)
    assert (found.x2, found.y2, found.kind, found.instrument) == (None, None, "height", "laser")


def test_of_two_tools_the_one_that_tells_more_is_taken() -> None:
    fine, coarse = Tool("fine", SLOPE, 9 * INCH, 0.0005), Tool("coarse", SLOPE, 9 * INCH, 0.02)
    assert ask(Doubtful(400, 0.003), coarse, fine)[0].instrument == "fine"
    assert ask(Doubtful(400, 0.003), coarse)[1] < 0.4


def test_a_base_can_be_taken_as_asked() -> None:
    for seed in range(4):
        floors = Doubtful(200, 0.003, seed)
        for tool in DEFAULT_TOOLS:
            found, _ = ask(floors, tool)
            asked = reading(tool.kind, found.x, found.y, found.x2, found.y2, value=0.0)  # type: ignore[arg-type]
            _, used, rejected = as_functionals(UNIT, (asked,))
            assert used and not rejected
            assert found.x2 is not None and found.y2 is not None
            assert np.hypot(found.x2 - found.x, found.y2 - found.y) == pytest.approx(tool.length, abs=0.7 * INCH)


@pytest.mark.parametrize("kind", [HEIGHT, WEDGE, SLOPE, CHORD])
def test_a_reading_asked_for_is_the_functional_of_that_reading(kind: ReadingKind) -> None:
    ends = (0.3, 0.2) if kind is HEIGHT else (0.3, 0.2, 0.6, 0.5)
    asked = Ask(str(kind), *ends, *((None, None) if kind is HEIGHT else ()), "", "")  # type: ignore[arg-type]
    ours = as_functional(asked, 0.001)
    theirs, _, _ = as_functionals(UNIT, (reading(kind, *ends, value=0.0, u=0.001),))
    for field in (lambda x, y: x + 2 * y, lambda x, y: np.sin(7 * x) * y):
        assert ours.apply(field(ours.x, ours.y)) == pytest.approx(theirs.apply(field(theirs.x, theirs.y)))
    assert (ours.setup >= 0).tolist() == (theirs.setup >= 0).tolist()
    assert ours.u.tolist() == [0.001]


def test_instruments_make_tools_by_what_they_state() -> None:
    found = tools(
        [
            Instrument(id="digital", name="9 in digital level", length=9 * INCH, u_slope=0.0009),
            Instrument(id="box", name="24 in box level", length=24 * INCH, u=0.0004),
            Instrument(id="laser", name="line laser", u=0.0008),
            Instrument(id="eye", name="nothing stated"),
        ]
    )
    assert {(t.instrument, t.kind) for t in found} >= {("digital", SLOPE), ("box", WEDGE), ("laser", HEIGHT)}
    assert {t.instrument for t in found} == {"digital", "box", "laser"}
    assert all(t.u > 0 for t in found)
    assert tools([]) == DEFAULT_TOOLS
    assert tools([Instrument(id="eye", name="nothing stated")]) == DEFAULT_TOOLS


def test_nothing_is_asked_with_a_level_longer_than_the_floor() -> None:
    floors = Doubtful(100, 0.003)
    long = (Tool("", SLOPE, 3.0, 0.0009),)
    assert next_reading(UNIT, floors.heights, floors.conforms, long, np.random.default_rng(0)) is None


def test_where_only_heights_can_be_read_the_first_one_is_asked_though_it_tells_nothing_alone() -> None:
    found, gain = ask(Doubtful(100, 0.003), Tool("laser", HEIGHT, 0.0, 0.0005))
    assert (found.kind, found.instrument, found.x2, gain) == ("height", "laser", None, 0.0)
    asked = reading(HEIGHT, found.x, found.y, value=0.0)
    assert as_functionals(UNIT, (asked,))[1] == (asked,)


def test_one_seed_gives_one_answer() -> None:
    floors = Doubtful(200, 0.003)
    assert ask(floors, *DEFAULT_TOOLS) == ask(floors, *DEFAULT_TOOLS)


def test_every_place_asked_lies_on_the_floor() -> None:
    found, _ = ask(Doubtful(200, 0.003), *DEFAULT_TOOLS)
    for x, y in ((found.x, found.y), (found.x2, found.y2)):
        assert x is not None and y is not None
        assert 0 <= x <= WIDTH and 0 <= y <= DEPTH
        assert np.hypot(x - UNIT.drain.x, y - UNIT.drain.y) > UNIT.drain.radius - INCH
