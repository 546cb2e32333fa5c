"""How fast 1,000 surveys are placed, against general solvers of linear programs on the same programs.

Run alone: python benchmarks/placement.py
A survey has 30 readings of stud faces (sd 1/16 in, read to 1/32 in), a 6 in core and the threshold's line. One
placement and 1,000 drawn from the survey are timed after one run that compiles. SciPy's linprog with its HiGHS solves,
for some of the drawn surveys, the second program alone (least largest shim), built beforehand and started cold each
time, as that interface does; highspy, where it is installed, is started warm from survey to survey. In the same run
the largest shims of these programs are compared.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from statistics import median
from time import perf_counter
from typing import Any

import numpy as np
from scipy.optimize import linprog

from drainward.demo.units import bedded
from drainward.pocket.fit import FITS_FROM, TURN, best, best_of_many, rows_at, tightest
from drainward.pocket.limits import Limits, outline
from drainward.pocket.place import place, surveyed
from drainward.pocket.sampled import sampled
from drainward.pocket.shape import Pocket
from drainward.quantity import INCH

SAMPLES, ROUNDS, FEW = 1000, 7, 100


def main() -> None:
    """Make the survey, compare, time, print."""
    unit, made = bedded(), pocket()
    survey = surveyed(made, outline(unit), Limits())
    place(unit, made)
    sampled(unit, made, samples=2)
    one = [seconds(lambda: place(unit, made)) for _ in range(50)]
    many = [seconds(lambda: sampled(unit, made, samples=SAMPLES)) for _ in range(ROUNDS)]
    drawn = np.random.default_rng(7).normal(size=(FEW, len(made))) * INCH / 32 + made.off
    rest = [np.tile(part, (FEW, 1)) for part in (survey.core, survey.front)]
    kernel = seconds(lambda: best_of_many(survey.wall, survey.at, drawn, *rest, survey.ends, survey.out)) / FEW
    programs, shims = [], []
    for off in drawn:
        args = (survey.wall, survey.at, off, survey.core, survey.front, survey.ends, survey.out)
        k, g = rows_at(*args, best(*args)[3][2])
        programs.append(second_program(k, g, len(off)))
        shims.append(tightest(k, g, len(off), TURN)[1][3])
    rivals: dict[str, Callable[[], list[float]]] = {"linprog (HiGHS, cold)": lambda: [cold(*one) for one in programs]}
    try:
        highspy: Any = import_module("highspy")
    except ModuleNotFoundError:
        print("highspy is not installed: not timed")
    else:
        rivals["highspy (HiGHS, warm)"] = lambda: warm(highspy, programs)
    print(f"{'one placement, everything told':40}{1e3 * median(one):10.3f} ms")
    print(f"{'a drawn survey, all programs, compiled':40}{1e3 * kernel:10.3f} ms")
    for name, solve in rivals.items():
        start = perf_counter()
        answers = solve()
        taken = (perf_counter() - start) / FEW
        worst = np.abs(np.array(answers) - shims).max() / INCH
        print(f"{name + ', one program':40}{1e3 * taken:10.3f} ms (x{taken / kernel:.0f}), shim within {worst:.0e} in")
    print(f"{SAMPLES} drawn surveys, drawing counted: {' '.join(f'{t:.3f}' for t in many)} s")
    print(f"placement: {median(many):.3f}")


def pocket() -> Pocket:
    """Ten readings on each wall."""
    shape, rng = outline(bedded()), np.random.default_rng(2024)
    wall = np.repeat([0, 1, 2], 10)
    side, back = np.tile(np.linspace(2, 36, 5), 2), np.tile(np.linspace(2, 58, 5), 2)
    at, z = np.concatenate([side, back, side]) * INCH, np.tile(np.repeat([2.0, 76.0], 5), 3) * INCH
    off = np.concatenate([np.full(10, edge) for edge in (shape.left, shape.back, shape.right)])
    off += np.where(wall == 2, 0.4, -0.4) * INCH + rng.normal(size=30) * INCH / 16
    spots = np.array([(5, 5, -1.5), (55, 5, -1.4), (5, 31, -1.5), (55, 31, -1.3)]).T * INCH
    core, front = np.array([30.2, 18.1, 3.0]) * INCH, np.full(2, shape.front)
    mean = np.concatenate([off, core, spots[2], front])
    covariance = np.eye(len(mean)) * (INCH / 32) ** 2
    stud = np.tile(np.arange(5), 6)
    return Pocket(wall, at, z, off, stud, core[:2], float(core[2]), *spots, front, mean, covariance)


def second_program(k: Any, g: Any, n: int) -> tuple[Any, Any]:
    """Rows and ends of: every row kept, every gap at most the shim."""
    a = np.zeros((len(k) + n, 4))
    a[: len(k), :3], a[len(k) :, :3], a[len(k) :, 3] = -g, g[:n], -1.0
    return a, np.concatenate([k - FITS_FROM, -k[:n]])


def cold(a: Any, b: Any) -> float:
    """The largest shim."""
    return float(linprog([0, 0, 0, 1], a, b, bounds=[(-1, 1)] * 3 + [(-2, 2)], method="highs").fun)


def warm(highspy: Any, programs: list[tuple[Any, Any]]) -> list[float]:
    """The same, each started from the basis of the one before."""
    solver, basis, found = highspy.Highs(), None, []
    solver.setOptionValue("output_flag", False)
    for a, b in programs:
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = 4, len(b)
        model.col_cost_ = np.array([0.0, 0.0, 0.0, 1.0])
        model.col_lower_, model.col_upper_ = np.array([-1.0, -1, -1, -2]), np.array([1.0, 1, 1, 2])
        model.row_lower_, model.row_upper_ = np.full(len(b), -highspy.kHighsInf), b
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = np.arange(len(b) + 1) * 4
        model.a_matrix_.index_ = np.tile(np.arange(4), len(b))
        model.a_matrix_.value_ = a.ravel()
        solver.passModel(model)
        if basis is not None:
            solver.setBasis(basis)
        solver.run()
        basis = solver.getBasis()
        found.append(solver.getInfo().objective_function_value)
    return found


def seconds(run: Callable[[], object]) -> float:
    """Wall time of one run."""
    start = perf_counter()
    run()
    return perf_counter() - start


if __name__ == "__main__":
    main()
