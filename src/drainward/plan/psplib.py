"""Open scheduling instances as an outside check of the solver: `read_sm`, `shortest`.

Format and instances: Kolisch and Sprecher, "PSPLIB - A project scheduling problem library", European Journal of
Operational Research 96 (1996) 205-216; single mode: each job has a duration, successors, and demands on
renewable resources."""

from __future__ import annotations

from dataclasses import dataclass

from ortools.sat.python import cp_model

from drainward.errors import InputError, Problem

__all__ = ["Project", "Shortest", "read_sm", "shortest"]


@dataclass(frozen=True, slots=True)
class Project:
    """durations, successors (job numbers from 0), demands (by resource): per job;  capacity : per resource."""

    durations: tuple[int, ...]
    successors: tuple[tuple[int, ...], ...]
    demands: tuple[tuple[int, ...], ...]
    capacity: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Shortest:
    """The shortest makespan found, the solver's bound, and the starts; makespan None where none was found."""

    makespan: int | None
    bound: int
    starts: tuple[int, ...]


def read_sm(text: str, name: str = "project.sm") -> Project:
    """A single-mode instance; InputError names file, line and what was expected."""
    lines = text.splitlines()

    def section(title: str, skip: int) -> int:
        for number, line in enumerate(lines):
            if line.startswith(title):
                return number + skip
        raise InputError((Problem(name, None, title, "", "section is missing"),))

    def numbers(at: int) -> list[int]:
        try:
            return [int(word) for word in lines[at].split()]
        except (IndexError, ValueError):
            got = lines[at] if at < len(lines) else ""
            raise InputError((Problem(name, at + 1, "", got, "expected whole numbers"),)) from None

    at = section("jobs (incl.", 0)
    jobs = int(lines[at].split(":")[1])
    after, needs = section("PRECEDENCE RELATIONS", 2), section("REQUESTS/DURATIONS", 3)
    capacity = numbers(section("RESOURCEAVAILABILITIES", 2))
    relation = [numbers(after + k) for k in range(jobs)]
    request = [numbers(needs + k) for k in range(jobs)]
    for k in range(jobs):
        if len(relation[k]) != 3 + relation[k][2] or len(request[k]) != 3 + len(capacity):
            raise InputError((Problem(name, after + k + 1, "", lines[after + k], "does not list what it counts"),))
    return Project(
        durations=tuple(row[2] for row in request),
        successors=tuple(tuple(job - 1 for job in row[3:]) for row in relation),
        demands=tuple(tuple(row[3:]) for row in request),
        capacity=tuple(capacity),
    )


def shortest(project: Project, seconds: float = 30.0, workers: int = 8) -> Shortest:
    """The shortest makespan by CP-SAT; more workers than cores only take turns, and differ in how they search."""
    model = cp_model.CpModel()
    horizon = sum(project.durations)
    start = [model.new_int_var(0, horizon, f"start {k}") for k in range(len(project.durations))]
    finish = model.new_int_var(0, horizon, "finish")
    busy = [
        model.new_fixed_size_interval_var(at, length, "job")
        for at, length in zip(start, project.durations, strict=True)
    ]
    for job, later in enumerate(project.successors):
        model.add(finish >= start[job] + project.durations[job])
        for other in later:
            model.add(start[other] >= start[job] + project.durations[job])
    for resource, capacity in enumerate(project.capacity):
        model.add_cumulative(busy, [demand[resource] for demand in project.demands], capacity)
    model.minimize(finish)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    status = solver.solve(model)
    bound = int(solver.best_objective_bound)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Shortest(None, bound, ())
    return Shortest(int(solver.objective_value), bound, tuple(int(solver.value(at)) for at in start))
