"""How long one room's answer takes, warm: the whole draft stage, the page's first estimate, and the draws alone.

The draws are set beside the time of drawing as many random normals with numpy in the same run.

    python benchmarks/draft_speed.py [--repeat 7]
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable

import numpy as np
from designs import U_SLOPE, UNITS, level_lines
from rich.console import Console
from rich.table import Table

from drainward.demo.floors import true_floor
from drainward.floor import draft_stage
from drainward.floor.belief import believe
from drainward.floor.shape import INCH, moulded
from drainward.floor.surface import surfaces
from drainward.job.model import Job, Reading, ReadingKind, Room

READINGS, SAMPLES, FIRST = 40, 1000, 200
THREADS = 2


def readings_of(count: int) -> tuple[Reading, ...]:
    """So many readings of one hidden floor."""
    unit = UNITS[0]
    f = level_lines(unit, 20)
    value = true_floor(unit, "bulge", np.random.default_rng(5)).read(f, np.random.default_rng(6))
    return tuple(
        Reading(
            id=str(i), room="1", kind=ReadingKind.SLOPE, x=f.x[i, 0], y=f.y[i, 0], x2=f.x[i, 1], y2=f.y[i, 1],
            value=value[i], u=U_SLOPE, line=i + 2,
        )
        for i in range(count)
    )  # fmt: skip


def median_time(work: Callable[[], object], repeat: int) -> float:
    """Median seconds of a piece of work, after one run to warm it."""
    work()
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    """Print the times side by side."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--repeat", type=int, default=7)
    repeat = ask.parse_args().repeat
    unit = UNITS[0]
    job = Job(name="speed", units={unit.id: unit}, rooms=(Room(room="1", unit=unit.id),))
    readings = readings_of(READINGS)
    f = level_lines(unit, 20)
    belief = believe(
        unit.inside_width, unit.inside_depth, f.apply(moulded(unit, f.x, f.y)), f, particles=250, threads=2
    )
    drawn = surfaces(belief.draw(4, 0), unit, INCH / 4, THREADS)
    rng = np.random.default_rng(0)
    whole = median_time(lambda: draft_stage(job, "1", readings, samples=SAMPLES, threads=THREADS), repeat)
    first = median_time(lambda: draft_stage(job, "1", readings, samples=FIRST, threads=THREADS), repeat)
    draws = median_time(lambda: surfaces(belief.draw(4, 0), unit, INCH / 4, THREADS), repeat)
    one_thread = median_time(lambda: surfaces(belief.draw(4, 0), unit, INCH / 4, 1), repeat)
    normals = median_time(lambda: rng.standard_normal((drawn.count, *drawn.base.shape)), repeat)
    table = Table("what", "seconds", "over the time of the normals")
    table.add_row(
        f"draft stage, {READINGS} readings, {SAMPLES} floors of {drawn.base.shape[0]} x {drawn.base.shape[1]}",
        f"{whole:.3f}",
        "",
    )
    table.add_row(f"first estimate, {FIRST} floors on a half-inch grid", f"{first:.3f}", "")
    table.add_row(f"{drawn.count} conditioned floors, {THREADS} threads", f"{draws:.3f}", f"{draws / normals:.2f}")
    table.add_row(f"{drawn.count} conditioned floors, 1 thread", f"{one_thread:.3f}", f"{one_thread / normals:.2f}")
    table.add_row(f"{drawn.base.size * drawn.count:,} random normals", f"{normals:.3f}", "1")
    Console(width=110).print(table)
    print(f"draft_speed: {whole:.3f}")


if __name__ == "__main__":
    main()
