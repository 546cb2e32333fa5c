"""The water test of one room: the water on its floor before it is poured, and beside a recorded test after.

water_stage    all of it for one room of a job
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import compress

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding, Verdict, overall
from drainward.floor.ask import next_reading, tools
from drainward.floor.contradict import ask_again, contradictions, unsettled, withheld
from drainward.floor.doubt import band, prudent
from drainward.floor.drawn import Drawn, Progress, drawn, grid_step
from drainward.floor.film.evidence import depths, edge_of, level_readings, outline, resample, standing_odds
from drainward.floor.film.fluid import GRAVITY, water
from drainward.floor.film.many import DROPS, FILM, Outcome, Setting, basin_on, outcomes, poured_on
from drainward.floor.film.outlet import outlet_of
from drainward.floor.film.pour import pour_of
from drainward.floor.film.result import Hang, Play, Range, Seen, Water
from drainward.floor.film.seen import HANGS_SOAPED, STRAYS, Judging, compare, hangs, watched
from drainward.floor.film.wetting import hang, notice, thickness
from drainward.floor.judge import at_job_depth, judged_on
from drainward.floor.ponds import Standing, list_ponds, outlet, standing
from drainward.floor.result import Ask, Pond
from drainward.floor.shape import INCH
from drainward.floor.stage import ASK_FLOORS, algebra_threads, unit_of
from drainward.floor.surface import Surfaces, surfaces
from drainward.job.at_stage import WATER
from drainward.job.model import Job, Reading, ReadingKind, UnitModel, WaterTest
from drainward.quantity import format_length
from drainward.rules import load_rules
from drainward.rules.unit_check import lip_height
from drainward.rules.water_check import at_job_flow, water_findings

__all__ = ["water_stage"]

Array = NDArray[np.float64]

_FRAMES = 96
_WET = 1e-5  # a floor this deep under water has been wetted, m
_HARDLY = 0.1  # share of the floors that show a puddle, under which they are too few to weigh
_DRAWN = 5  # floors drawn for each on which water runs


def water_stage(
    job: Job,
    room: str,
    readings: tuple[Reading, ...],
    tests: tuple[WaterTest, ...],
    *,
    samples: int = 200,
    seed: int = 0,
    threads: int = 2,
    progress: Progress | None = None,
) -> Water:
    """The water on one room's floor, from its readings and from the water tests recorded there.

    samples : floors on which water runs, five times as many are drawn for the ponds;  seed : of the draws
    progress : called with what is being done and the share done
    The last test, by time, conditions the floors; every test is compared with what the readings alone let expect.
    Raises StageError when the job has no such room or the room no unit model.
    """
    with algebra_threads().limit(limits=1, user_api="blas"):
        return _Water(job, room, readings, _in_order(tests), samples, seed, threads, progress).answer()


def _in_order(tests: tuple[WaterTest, ...]) -> tuple[WaterTest, ...]:
    """By time; those without a time come first, as they stand."""
    return tuple(sorted(tests, key=lambda test: test.when.timestamp() if test.when else -np.inf))


def _measured(tests: tuple[WaterTest, ...]) -> WaterTest | None:
    """The last test, with the last heat and flow that anybody measured."""
    if not tests:
        return None
    hottest = next((test for test in reversed(tests) if test.hottest is not None), tests[-1])
    flow = next((test for test in reversed(tests) if test.flow is not None), tests[-1])
    update = {"hottest": hottest.hottest, "u_hottest": hottest.u_hottest, "flow": flow.flow, "u_flow": flow.u_flow}
    return tests[-1].model_copy(update=update)


@dataclass(frozen=True, slots=True, eq=False)
class _After:
    """The floors after the last test: drawn, their still water, and the share that stands."""

    drawn: Drawn
    still: Standing
    weight: float


class _Water:
    """One answer in the making."""

    def __init__(
        self, job: Job, room: str, readings: tuple[Reading, ...], tests: tuple[WaterTest, ...],
        samples: int, seed: int, threads: int, progress: Progress | None,
    ) -> None:  # fmt: skip
        self.job, self.room, self.readings, self.tests = job, room, readings, tests
        self.samples, self.seed, self.threads = samples, seed, threads
        self.tell = _rising(progress or (lambda what, share: None))
        self.unit = unit_of(job, room)
        self.book = load_rules(job.rules)
        self.fluid = water(job.water.temperature)

    def answer(self) -> Water:
        job = self.job
        before = self._drawn(self.readings)
        still = self._still(before.surfaces)
        after = self._after(before, still)
        coarse = surfaces(after.drawn.floors.pick(np.arange(self.samples)), self.unit, self._step(False), self.threads)
        setting = self._setting(coarse)
        self.tell("letting the water run", 0.5)
        out = outcomes(
            setting,
            lambda k: _floor(coarse, k),
            coarse.count,
            self.threads,
            lambda share: self.tell("letting the water run", 0.5 + 0.45 * share),
        )
        self.tell("pouring on the expected floor", 0.95)
        mean, _ = after.drawn.surfaces.moments(self.threads)
        play = self._play(after.drawn.surfaces, mean)
        hung = self._hang(after.drawn.surfaces, mean, play)
        ponds = list_ponds(after.drawn.surfaces, after.still, job.pond_counts)
        seen = self._seen(before, still, setting, coarse, out, after.weight)
        again = unsettled(before.belief, before.used)
        pond_findings, open_ponds = self._pond_findings(after, ponds, hung)
        findings = (
            *pond_findings,
            *self._film_findings(out),
            *water_findings(job, self.book, _measured(self.tests)),
            *(_agreement(s, job.risk) for s in seen[-1:]),
            *withheld(again),
        )
        ask = ask_again(again[0]) if again else self._ask(seen, after, open_ponds)
        contradicted = contradictions(before.belief, before.used, before.surfaces)
        self.tell("done", 1.0)
        return Water(
            room=self.room,
            stage=WATER,
            verdict=overall(f.verdict for f in findings if f.decides),
            findings=findings,
            pour=setting.pour,
            drained=watched(out.drained),
            left=_range(out.left),
            standing=_range(after.still.volume),
            lip=setting.lip,
            lip_depth=_range(out.lip_depth),
            spilled=_range(out.spilled),
            shower=job.water.flow,
            shower_depth=_range(out.shower_depth),
            freeboard=_range(out.freeboard),
            overflow=_range(out.overflow),
            reynolds=_reynolds(play, mean, self.unit, self.fluid.viscosity),
            hang=hung,
            ponds=ponds,
            seen=seen,
            next_reading=ask,
            play=play,
            puddle=after.still.probability[::2, ::2],
            used=len(before.used) - len(contradicted),
            rejected=before.rejected + contradicted,
            samples=coarse.count,
        )

    def _drawn(self, readings: tuple[Reading, ...]) -> Drawn:
        def tell(what: str, share: float) -> None:
            self.tell(what, 0.8 * share)

        return drawn(self.unit, readings, _DRAWN * self.samples, self.seed, self.threads, tell)

    def _still(self, floors: Surfaces) -> Standing:
        return standing(floors, self.unit, self.job.pond_counts, self.threads)

    def _step(self, fine: bool) -> float:
        return grid_step(self.unit, fine)

    def _after(self, before: Drawn, still: Standing) -> _After:
        """The floors that the last test leaves, weighed by what it showed and what it did not."""
        if not self.tests or self.tests[-1].puddles is None:
            return _After(before, still, 1.0)
        test, angles = self.tests[-1], self.job.water.contact_angle
        puddles = test.puddles or ()
        found = depths(before.surfaces, still, puddles)
        film = hangs(self.job, self.fluid, test)
        # Where no film explains a puddle that hardly any floor shows, floors are drawn that do; the rest is weighed.
        laid = (film <= HANGS_SOAPED) & (notice(found.inside).mean(axis=1) < _HARDLY)
        if laid.any():
            deep = test.model_copy(update={"puddles": tuple(compress(puddles, laid))})
            before = self._drawn(self.readings + level_readings(self.unit, deep, self.fluid, angles))
            still = self._still(before.surfaces)
            found = depths(before.surfaces, still, puddles)
        # A film hangs somewhere on a floor, and seldom just here.
        here = np.array([outline(before.surfaces, p).mean() for p in puddles]) * np.maximum(film, STRAYS)
        rest = tuple(compress(puddles, ~laid))
        odds = standing_odds(
            replace(found, inside=found.inside[~laid]),
            rest,
            here[~laid],
            edge_of(test, self.fluid, angles[0]),
            thickness(self.fluid, angles[1]),
        )
        index, weight = resample(odds, np.random.default_rng(self.seed + 3))
        floors = before.floors.pick(index)
        lifted = surfaces(floors, self.unit, self._step(_DRAWN * self.samples > 256), self.threads)
        return _After(replace(before, floors=floors, surfaces=lifted), self._still(lifted), weight)

    def _setting(self, floors: Surfaces) -> Setting:
        last = self.tests[-1] if self.tests else None
        return Setting(
            floors.x,
            floors.y,
            outlet(self.unit, floors.x, floors.y),
            outlet_of(self.unit.drain),
            lip_height(self.unit),
            self.fluid,
            pour_of(self.job, last),
            self.job.water.flow,
        )

    def _play(self, floors: Surfaces, mean: Array) -> Play:
        """The pour on the expected floor; shown on every second node of its grid."""
        setting = self._setting(floors)
        basin = basin_on(setting, mean)
        end = poured_on(setting, basin).t[-1]
        over = min(setting.pour.over, end)
        pouring = np.linspace(0.0, over, _FRAMES // 2, endpoint=False)
        frames = np.concatenate([pouring, over + (end - over) * np.linspace(0.0, 1.0, _FRAMES // 2) ** 1.5])
        ran = poured_on(setting, basin, frames)

        def rate(total: Array) -> Array:
            flow = np.diff(total) / np.diff(ran.t)
            at: Array = np.interp(frames, (ran.t[1:] + ran.t[:-1]) / 2, flow)
            return at

        return Play(
            floors.x[::2],
            floors.y[::2],
            frames,
            ran.frames[:, ::2, ::2],
            rate(ran.drained),
            rate(ran.spilled),
            np.interp(frames, ran.t, ran.volume),
            ran.wet_until[::2, ::2],
            FILM,
        )

    def _hang(self, floors: Surfaces, mean: Array, play: Play) -> Hang:
        gy, gx = np.gradient(mean, floors.y, floors.x)
        fall = float(np.median(np.hypot(gx, gy)))
        wetted = float((play.depth.max(axis=0) > _WET).mean()) * self.unit.inside_width * self.unit.inside_depth
        rows = self.book.requirements("floor.puddle.depth", self.job.rules.shower)
        dip = min((row.high for row in rows if row.high is not None), default=0.0)
        poured = pour_of(self.job, self.tests[-1] if self.tests else None).poured
        return hang(self.fluid, self.job.water.contact_angle, fall, dip, wetted, poured)

    def _seen(
        self, before: Drawn, still: Standing, setting: Setting, coarse: Surfaces, out: Outcome, weight: float
    ) -> tuple[Seen, ...]:
        if not self.tests:
            return ()
        expected = surfaces(before.floors.pick(np.arange(coarse.count)), self.unit, self._step(False), self.threads)
        z, _ = expected.moments(self.threads)
        middle_time = poured_on(setting, basin_on(setting, z)).stream_below(DROPS)

        def redrawn(readings: tuple[Reading, ...]) -> tuple[Drawn, Standing]:
            again = self._drawn(readings)
            return again, self._still(again.surfaces)

        given = Judging(
            self.job,
            self.unit,
            setting,
            z,
            before.surfaces,
            still,
            list_ponds(before.surfaces, still, self.job.pond_counts),
            before.used,
            out.drained / middle_time,
            redrawn,
        )
        last = len(self.tests) - 1
        return tuple(compare(given, test, weight if k == last else 1.0) for k, test in enumerate(self.tests))

    def _pond_findings(
        self, after: _After, ponds: tuple[Pond, ...], hung: Hang
    ) -> tuple[tuple[Finding, ...], NDArray[np.bool_] | None]:
        """Standing water against every row on it; and whether each floor conforms to those still open."""
        job = self.job
        deep = after.still.deepest
        advice = _skin(hung) if np.median(deep) <= hung.dip else _dip(ponds, hung)
        judged = [
            judged_on(at_job_depth(row, job), deep, advice, job.risk)
            for row in self.book.requirements("floor.pond.depth", job.rules.shower)
        ]
        still_open = [j.conforms for j in judged if job.risk < prudent(j.conforms) < 1 - job.risk]
        return tuple(j.finding for j in judged), np.logical_and.reduce(still_open) if still_open else None

    def _film_findings(self, out: Outcome) -> tuple[Finding, ...]:
        job, shower = self.job, self.job.rules.shower
        spilled = "Pour slower, or farther from the opening; where it still runs over, the threshold's lip is too low."
        taken = "Lift the grate and look; a larger grate or a higher lip gives the drain more head."
        return tuple(
            judged_on(at_job_flow(row, job), values, advice, job.risk).finding
            for quantity, values, advice in (
                ("floor.water.spilled", out.spilled, spilled),
                ("drain.capacity", out.capacity, taken),
            )
            for row in self.book.requirements(quantity, shower)
        )

    def _ask(self, seen: tuple[Seen, ...], after: _After, open_ponds: NDArray[np.bool_] | None) -> Ask | None:
        """The reading that tells where seen and computed part; else the one that settles the ponds."""
        if seen and seen[-1].agrees is False and seen[-1].ask is not None:
            return seen[-1].ask
        if open_ponds is None:
            return None
        some = after.drawn.surfaces.part(ASK_FLOORS)
        found = next_reading(
            self.unit,
            lambda x, y: some.at(x, y, self.threads),
            open_ponds[: some.count],
            tools(self.job.instruments.values()),
            np.random.default_rng(self.seed + 2),
            spacing=3 * INCH,
            datum_known=any(r.kind is ReadingKind.HEIGHT for r in after.drawn.used),
        )
        return None if found is None else replace(found[0], why=f"still open: standing water; {found[0].why}")


def _rising(progress: Progress) -> Progress:
    """Never back: floors are drawn again where a test asks for it."""
    reached = 0.0

    def tell(what: str, share: float) -> None:
        nonlocal reached
        reached = max(reached, share)
        progress(what, reached)

    return tell


def _skin(hung: Hang) -> str:
    """What the eye can and cannot tell of standing water."""
    most, dip = format_length(hung.most, "mm"), format_length(hung.dip, "mm")
    return (
        f"Water hangs by itself up to {most} thick on a sound floor, so a film is no pond: wipe with a drop of dish "
        f"soap and pour again; a patch counts where its middle is over {dip} deep or it fills again to the same "
        "outline, else a chord across it decides."
    )


def _dip(ponds: tuple[Pond, ...], hung: Hang) -> str:
    """Deeper than any film: the draft check tells the mend."""
    where = (
        ""
        if not ponds
        else f" Deepest {format_length(ponds[0].x)} from the left, {format_length(ponds[0].y)} from the back."
    )
    dip = format_length(hung.dip, "mm")
    return f"A dip, deeper than the {dip} to which water hangs by itself: mend it as the draft check says.{where}"


def _floor(floors: Surfaces, k: int) -> Array:
    lanes = floors.z.shape[3]
    return floors.z[k // lanes, :, :, k % lanes].astype(np.float64)


def _range(values: Array) -> Range:
    low, high = band(values) if np.isfinite(values).all() else (float(values.min()), float("inf"))
    return Range(low, float(np.median(values)), high)


def _reynolds(play: Play, mean: Array, unit: UnitModel, viscosity: float) -> float:
    """Greatest flow per width over viscosity over the frames, away from the drain and from what stays a puddle."""
    from_drain = np.hypot(play.x[None, :] - unit.drain.x, play.y[:, None] - unit.drain.y)
    away = (from_drain > 2 * unit.drain.radius) & (play.depth[-1] < play.film)
    z = mean[::2, ::2]
    most = 0.0
    for depth in play.depth.astype(np.float64):
        gy, gx = np.gradient(z + depth, play.y, play.x)
        most = max(most, float((depth**3 * np.hypot(gx, gy))[away].max()))
    return GRAVITY * most / (3 * viscosity**2)


def _agreement(seen: Seen, risk: float) -> Finding:
    """Whether the last test and the computation agree; it never proves a floor, it can only hold one up."""
    chances = [c for c in (seen.puddles_chance, seen.drained_chance) if c is not None]
    first = seen.causes[0] if seen.causes else None
    cause = "" if first is None else f" Most likely {first.what} ({first.probability:.0%})."
    missing = "Write down how long it took to drain, and each puddle or that there is none."
    return Finding(
        id="water/agreement",
        what="The recorded water test agrees with the floor as read",
        value=min(chances) if chances else None,
        u=None,
        unit="1",
        limit=f"chance of what was seen at least {risk:.0%}" if chances else "",
        probability=None,
        verdict=Verdict.MEETS if seen.agrees else Verdict.NOT_PROVEN,
        source="computed from the readings",
        advice=(seen.says + cause).strip() or missing,
    )
