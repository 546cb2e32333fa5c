"""The plan as pictures: rooms down by floor, days along.

board_svg     a row a room: survey, correction, bed and set, cure, water test, second look, due date
floors_svg    a row a floor: units set on each day, for a building too large to be seen room by room
wide_enough   width of a picture of all days that a finger can scroll
strips_svg    below the same days: sets of braces in use, mortar, rooms done against rooms due
legend_svg    what the marks mean
pages_of      rooms of a board cut into pages by floor

Black on white: what is done is grey, what is planned black, and every step has a shape of its own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from html import escape

from drainward.plan.clock import local
from drainward.plan.make import Made
from drainward.plan.model import Kind, PlanRoom, Task
from drainward.plan.told import kits_by_day, set_by_day
from drainward.report.ink import FONT, GREY, INK, WARN, line

__all__ = ["board_svg", "floors_svg", "legend_svg", "pages_of", "strips_svg", "wide_enough"]

_LEFT = 22.0
_HEAD = 12.0
_ROW = 4.6
_TITLE = 5.4
_SHADE, _DONE = "#e4e4e4", "#8a8a8a"
_WEEK = 7


@dataclass(frozen=True, slots=True)
class _Axis:
    """Days from `first`, `wide` mm each; a day's hours of work fill its column."""

    first: date
    days: int
    wide: float
    opens: float
    closes: float

    def x(self, when: datetime) -> float:
        hours = when.hour + when.minute / 60
        share = min(1.0, max(0.0, (hours - self.opens) / (self.closes - self.opens)))
        return self.of(when.date()) + self.wide * share

    def of(self, day: date) -> float:
        return _LEFT + ((day - self.first).days * self.wide)

    @property
    def right(self) -> float:
        return _LEFT + self.days * self.wide

    def dates(self) -> Iterator[date]:
        return (self.first + timedelta(days=k) for k in range(self.days))


def _axis(made: Made, width: float, rooms: Sequence[PlanRoom] | None = None) -> _Axis:
    """From a week before the plan was made, or the first step after that, to the last step and what is due soon after.

    rooms : for these alone; None for all
    """
    building = made.case.building
    chosen = building.rooms if rooms is None else rooms
    names = {room.id for room in chosen}
    today = local(building, made.case.now).date()
    tasks = [task for task in made.plan.tasks if task.room in names]
    first = min((local(building, task.start).date() for task in tasks), default=today)
    first = max(first, today - timedelta(days=_WEEK))
    first -= timedelta(days=first.weekday())
    finish = max((local(building, task.end).date() for task in tasks), default=first)
    dues = [local(building, room.due).date() for room in chosen if room.due is not None]
    soon = [due for due in dues if due <= finish + timedelta(days=2 * _WEEK)]
    days = (max([finish, first, *soon]) - first).days + 2
    shifts = [s for crew in building.crews for s in crew.shifts]
    hours = [(local(building, s.start), local(building, s.end)) for s in shifts[-5:]]
    opens = min((a.hour + a.minute / 60 for a, _ in hours), default=7.0)
    closes = max((b.hour + b.minute / 60 for _, b in hours), default=16.0)
    return _Axis(first, days, max(1.0, (width - _LEFT - 2) / days), opens, max(closes, opens + 1))


def wide_enough(made: Made, day: float = 5.0, least: float = 220.0) -> float:
    """mm, so that each day gets `day` of them."""
    return max(least, _LEFT + 2 + day * _axis(made, least).days)


def _svg(width: float, height: float, parts: Sequence[str], title: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.1f} {height:.1f}" width="{width:.1f}mm" '
        f'height="{height:.1f}mm" {FONT} role="img"><title>{escape(title)}</title>'
        f'<rect width="{width:.1f}" height="{height:.1f}" fill="#fff"/>{_HATCH}{"".join(parts)}</svg>'
    )


_HATCH = (
    '<defs><pattern id="fix" width="1" height="1" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    f'<path d="M0 .5H1" stroke="{INK}" stroke-width=".35"/></pattern></defs>'
)


def _words(x: float, y: float, words: str, size: float, colour: str = INK, more: str = "") -> str:
    return f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size}" fill="{colour}" {more}>{escape(words)}</text>'


def _box(x: float, y: float, wide: float, high: float, fill: str, more: str = "") -> str:
    return f'<rect x="{x:.2f}" y="{y:.2f}" width="{max(wide, 0.3):.2f}" height="{high:.2f}" fill="{fill}" {more}/>'


def _days(made: Made, axis: _Axis, top: float, bottom: float, head: bool = True) -> Iterator[str]:
    """Days without work shaded, Mondays ruled and dated, a line where the plan was made."""
    building = made.case.building
    works = {local(building, s.start).date() for crew in building.crews for s in crew.shifts}
    month = 0
    for day in axis.dates():
        x = axis.of(day)
        if day not in works:
            yield _box(x, top, axis.wide, bottom - top, _SHADE)
        if day.weekday() == 0:
            yield line(x, top - (6.4 if head else 0), x, bottom, "#b5b5b5", 0.2)
        if head and (day.weekday() == 0 or axis.wide >= 4.5):
            bold = 'font-weight="bold"' if day.weekday() == 0 else ""
            yield _words(x + 0.5, top - 0.9, str(day.day), 2.6, INK, bold)
            if day.month != month:
                month = day.month
                yield _words(x + 0.5, top - 4.2, f"{day:%b %Y}", 2.6, INK, 'font-weight="bold"')
    made_on = local(building, made.case.now)
    if not axis.first <= made_on.date() < axis.first + timedelta(days=axis.days):
        return
    now = axis.x(made_on)
    yield line(now, top - 7 if head else top, now, bottom, WARN, 0.5, 'stroke-dasharray="1.4 .8"')
    if head:
        yield _words(now + 0.7, top - 7.4, "plan made", 2.4, WARN)


def pages_of(made: Made, high: float) -> tuple[tuple[PlanRoom, ...], ...]:
    """Rooms of the building by floor, as many a page as `high` mm hold."""
    rooms = sorted(made.case.building.rooms, key=lambda room: room.floor)
    pages: list[list[PlanRoom]] = [[]]
    used, floor = _HEAD + 4, None
    for room in rooms:
        need = _ROW + (_TITLE if room.floor != floor or not pages[-1] else 0)
        if used + need > high and pages[-1]:
            pages.append([])
            used, need = _HEAD + 4, _ROW + _TITLE
        pages[-1].append(room)
        used, floor = used + need, room.floor
    return tuple(tuple(page) for page in pages)


def board_svg(made: Made, rooms: Sequence[PlanRoom], width: float = 255.0) -> str:
    """The rows of some rooms, a whole SVG document in mm; rooms of one floor stand together."""
    axis = _axis(made, width, rooms)
    tasks: dict[str, dict[Kind, Task]] = {room.id: {} for room in rooms}
    for task in made.plan.tasks:
        if task.room in tasks:
            tasks[task.room][task.kind] = task
    parts: list[str] = []
    y, floor = _HEAD, None
    for room in rooms:
        if room.floor != floor:
            floor = room.floor
            name = made.case.floors[floor]
            parts += [
                _box(0, y + 0.6, axis.right, _TITLE - 1.2, "#fff"),
                line(0, y + _TITLE - 0.5, axis.right, y + _TITLE - 0.5, INK, 0.3),
                _words(0.5, y + _TITLE - 1.4, f"Floor {name}" if name else "Rooms", 3.1, INK, 'font-weight="bold"'),
            ]
            y += _TITLE
        parts += _row(made, axis, room, tasks[room.id], y)
        y += _ROW
    grid = list(_days(made, axis, _HEAD, y + 0.5))
    return _svg(max(width, axis.right + 2), y + 1.5, [*grid, *parts], "Rooms and days")


def _row(made: Made, axis: _Axis, room: PlanRoom, tasks: Mapping[Kind, Task], y: float) -> Iterator[str]:
    building = made.case.building
    done = {(task.room, task.kind) for task in made.case.done}
    middle = y + _ROW / 2
    ends = max((task.end for task in tasks.values()), default=0)
    late = room.due is not None and ends > room.due
    yield line(_LEFT, y + _ROW, axis.right, y + _ROW, "#cfcfcf", 0.15)
    yield _words(_LEFT - 1.2, middle + 1.1, room.id, 3.0, WARN if late else INK,
                 f'text-anchor="end"{" font-weight=" + chr(34) + "bold" + chr(34) if late else ""}')  # fmt: skip
    block, test = tasks.get(Kind.BLOCK), tasks.get(Kind.TEST)
    if block is not None and test is not None:
        a, b = (max(_LEFT, axis.x(local(building, slot))) for slot in (block.end, test.start))
        if b > a:
            yield line(a, middle, b, middle, INK, 0.35, 'stroke-dasharray=".7 .5"')
    for kind, task in tasks.items():
        start, end = local(building, task.start), local(building, task.end)
        if start.date() < axis.first:
            continue
        yield _mark(kind, axis.x(start), axis.x(end), middle, (task.room, kind) in done, task)
    if room.due is not None:
        due = local(building, room.due)
        if axis.first <= due.date() < axis.first + timedelta(days=axis.days):
            x = axis.x(due)
            yield line(x, y + 0.3, x, y + _ROW - 0.3, WARN if late else INK, 0.9)


def _mark(kind: Kind, a: float, b: float, middle: float, done: bool, task: Task) -> str:
    """One step: its own shape, grey where it is done."""
    ink = _DONE if done else INK
    half = _ROW * 0.33
    match kind:
        case Kind.SURVEY:
            return _box(a, middle - 1.0, max(b - a, 1.0), 2.0, "#fff", f'stroke="{ink}" stroke-width=".35"')
        case Kind.CORRECTION:
            return _box(a, middle - half, max(b - a, 0.8), 2 * half, "url(#fix)", f'stroke="{ink}" stroke-width=".3"')
        case Kind.BLOCK:
            names = "" if done or len(task.crews) != 1 else task.crews[0]
            fits = names and len(names) * 1.7 < b - a - 0.4
            said = _words((a + b) / 2, middle + 0.95, names, 2.5, "#fff", 'text-anchor="middle"') if fits else ""
            return _box(a, middle - half, max(b - a, 0.8), 2 * half, ink) + said
        case Kind.TEST | Kind.RETEST:
            inner = (
                f'<circle cx="{(a + b) / 2:.2f}" cy="{middle:.2f}" r=".45" fill="{ink}"/>'
                if kind is Kind.RETEST
                else ""
            )
            ring = f'r="1.15" fill="#fff" stroke="{ink}" stroke-width=".45"'
            return f'<circle cx="{(a + b) / 2:.2f}" cy="{middle:.2f}" {ring}/>{inner}'
    x, r = (a + b) / 2, 1.35
    return f'<path d="M{x:.2f} {middle - r:.2f}l{r} {r}l{-r} {r}l{-r} {-r}z" fill="{ink}"/>'


def legend_svg() -> str:
    """One line: a mark, then its words."""
    parts, x = [], 1.0
    for kind, words in (
        (Kind.SURVEY, "survey"),
        (Kind.CORRECTION, "correction"),
        (Kind.BLOCK, "dry set to braces, with its crew"),
        (None, "cure"),
        (Kind.TEST, "braces out, water test"),
        (Kind.RETEST, "water test again"),
        (Kind.LOOK, "second look"),
    ):
        if kind is None:
            parts.append(line(x, 3, x + 4, 3, INK, 0.35, 'stroke-dasharray=".7 .5"'))
        else:
            wide = 4.0 if kind in (Kind.CORRECTION, Kind.BLOCK) else 1.2
            parts.append(_mark(kind, x + 2 - wide / 2, x + 2 + wide / 2, 3, False, Task("", kind, ("A",), 0, 1)))
        parts.append(_words(x + 5.2, 4, words, 2.7))
        x += 8.6 + 1.52 * len(words)
    parts += [line(x, 1.2, x, 4.8, INK, 0.9), _words(x + 1.4, 4, "due", 2.7)]
    x += 8.5
    parts += [_box(x, 1.4, 3.2, 3.2, _DONE), _words(x + 4.4, 4, "grey: done", 2.7)]
    x += 22
    parts += [_box(x, 1.4, 3.2, 3.2, _SHADE), _words(x + 4.4, 4, "no work", 2.7)]
    return _svg(x + 18, 6, parts, "What the marks mean")


def floors_svg(made: Made, width: float = 255.0) -> str:
    """Units set by floor and day, a number in each square; darker is more."""
    axis, building = _axis(made, width), made.case.building
    floor = {room.id: room.floor for room in building.rooms}
    count = Counter((floor[room], day) for day, rooms in set_by_day(made).items() for room in rooms)
    floors = sorted(set(floor.values()))
    parts, y, most = list(_days(made, axis, _HEAD, _HEAD + _TITLE * len(floors))), _HEAD, max(count.values(), default=1)
    for number in floors:
        total = sum(1 for own in floor.values() if own == number)
        parts.append(_words(0.5, y + 3.6, f"{made.case.floors[number] or 'rooms'} ({total})", 2.8, INK))
        for day in axis.dates():
            here = count[number, day]
            if here:
                level = round(215 - 175 * here / most)
                parts.append(
                    _box(axis.of(day) + 0.1, y + 0.3, axis.wide - 0.2, _TITLE - 0.6, f"rgb({level},{level},{level})")
                )
                if axis.wide >= 1.8:
                    ink, size = ("#fff" if level < 130 else INK), min(2.8, axis.wide * 0.75)
                    middle = axis.of(day) + axis.wide / 2
                    parts.append(_words(middle, y + 3.6, str(here), round(size, 2), ink, 'text-anchor="middle"'))
        y += _TITLE
        parts.append(line(0, y, axis.right, y, "#cfcfcf", 0.2))
    return _svg(max(width, axis.right + 2), y + 1.5, parts, "Units set by floor and day")


def strips_svg(made: Made, bags: Mapping[str, float], width: float = 255.0) -> str:
    """Sets of braces in use at most, bags of mortar, and rooms done against rooms due, day by day.

    bags : by room, as far as known; days on which a room's bed is not known say so
    """
    axis = _axis(made, width)
    bottom = _HEAD
    drawn: list[str] = []
    draws: dict[str, Callable[[Made, _Axis, float, float], Iterator[str]]]
    draws = {"Braces": _braces, "Mortar": partial(_mortar, bags=bags), "Done, due": _done_due}
    for title, draw in draws.items():
        top, bottom = bottom + 5, bottom + 5 + 17
        drawn += [line(_LEFT, bottom, axis.right, bottom, INK, 0.3)]
        drawn += [_words(0.5, top + 3, title, 3.0, INK, 'font-weight="bold"'), *draw(made, axis, top, bottom)]
    return _svg(max(width, axis.right + 2), bottom + 2, [*_days(made, axis, _HEAD, bottom), *drawn], "Day by day")


def _bars(
    axis: _Axis, heights: Mapping[date, float], top: float, bottom: float, most: float, fill: str
) -> Iterator[str]:
    """A bar a day with its number where there is room for it."""
    for day, value in heights.items():
        if value > 0 and axis.first <= day < axis.first + timedelta(days=axis.days):
            high = (bottom - top - 3) * value / most
            yield _box(
                axis.of(day) + 0.15, bottom - high, axis.wide - 0.3, high, fill, f'stroke="{INK}" stroke-width=".2"'
            )
            if axis.wide >= 3.4:
                size = min(2.5, axis.wide * 0.6)
                middle = axis.of(day) + axis.wide / 2
                number = f"{value:.1f}" if value % 1 else f"{value:.0f}"
                yield _words(middle, bottom - high - 0.6, number, round(size, 2), INK, 'text-anchor="middle"')


def _braces(made: Made, axis: _Axis, top: float, bottom: float) -> Iterator[str]:
    hand, used = made.case.building.kits, kits_by_day(made)
    most = max([hand, *used.values()])
    yield from _bars(axis, used, top, bottom, most, "#bdbdbd")
    y = bottom - (bottom - top - 3) * hand / most
    yield line(_LEFT, y, axis.right, y, INK, 0.4, 'stroke-dasharray="2 1"')
    yield _words(0.5, top + 6.5, f"{hand} sets at hand", 2.4, GREY)


def _mortar(made: Made, axis: _Axis, top: float, bottom: float, bags: Mapping[str, float]) -> Iterator[str]:
    days = set_by_day(made)
    known = {day: sum(bags.get(room, 0.0) for room in rooms) for day, rooms in days.items()}
    shown = {day: round(value, 1) for day, value in known.items() if value > 0}
    yield _words(0.5, top + 6.5, "bags, where known", 2.4, GREY)
    yield from _bars(axis, shown, top, bottom, max(shown.values(), default=1.0), "url(#fix)")
    for day, rooms in days.items():
        missing = sum(room not in bags for room in rooms)
        if missing and day >= axis.first and day >= local(made.case.building, made.case.now).date():
            x = axis.of(day) + axis.wide / 2
            size = round(min(2.3, axis.wide * 0.55), 2)
            yield _words(x, bottom + 2.4, f"+{missing}?", size, GREY, 'text-anchor="middle"')


def _done_due(made: Made, axis: _Axis, top: float, bottom: float) -> Iterator[str]:
    """How many rooms are done, and how many should be, by the end of each day."""
    building = made.case.building
    ends = {task.room: task.end for task in made.plan.tasks if task.kind is Kind.LOOK}
    done = sorted(local(building, end).date() for end in ends.values())
    due = sorted(local(building, room.due).date() for room in building.rooms if room.due is not None)
    most = max(len(building.rooms), 1)
    yield _words(0.5, top + 6.5, f"of {most} rooms", 2.4, GREY)
    for days, ink, more in ((due, WARN, 'stroke-dasharray="1.2 .7"'), (done, INK, "")):
        path, level = [f"M{_LEFT:.2f} {bottom:.2f}"], 0.0
        for day in axis.dates():
            count = sum(1 for one in days if one <= day)
            level = bottom - (bottom - top - 2) * count / most
            path.append(f"V{level:.2f}H{axis.of(day) + axis.wide:.2f}")
        if days:
            yield f'<path d="{"".join(path)}" fill="none" stroke="{ink}" stroke-width=".55" {more}/>'
    yield _words(0.5, top + 10, "line: done", 2.4)
    yield _words(0.5, top + 13, "dashes: due", 2.4, WARN)
