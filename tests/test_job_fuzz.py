"""Two hundred mangled job folders: never a traceback, never a good row lost, never a row that vanishes unsaid."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, note, settings
from strategies import Mangled, good_folder, mangled_folders

from drainward.errors import InputError
from drainward.job import Job, Loaded, Reading, WaterTest, load
from drainward.job.names import clean


def _load(mangled: Mangled) -> Loaded | InputError:
    with tempfile.TemporaryDirectory() as name:
        mangled.write(Path(name))
        try:
            return load(Path(name))
        except InputError as error:
            return error


def _by_id(job: Job) -> dict[str, Reading | WaterTest]:
    entries = (*job.readings, *job.water_tests)
    return {entry.id: entry.model_copy(update={"line": None}) for entry in entries}


def _good() -> Job:
    loaded = _load(good_folder())
    assert isinstance(loaded, Loaded)
    assert loaded.problems == ()
    return loaded.job


GOOD = _good()


def test_the_good_folder_is_loaded_whole() -> None:
    assert (len(GOOD.units), len(GOOD.rooms), len(GOOD.readings), len(GOOD.water_tests)) == (2, 8, 48, 8)


@settings(max_examples=200, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(mangled_folders())
def test_mangled_folder(mangled: Mangled) -> None:
    loaded = _load(mangled)
    rooms, entries = mangled.survivors()
    if isinstance(loaded, InputError):
        assert "job.toml" in mangled.touched
        return
    note("\n".join(map(str, loaded.problems)))
    wanted = {room.room: room for room in GOOD.rooms if room.room in rooms}
    assert wanted == {room.room: room for room in loaded.job.rooms if room.room in rooms}
    good = _by_id(GOOD)
    assert {id: good[id] for id in entries} == {id: row for id, row in _by_id(loaded.job).items() if id in entries}
    for name, rows in (("rooms.csv", ()), ("readings.csv", loaded.job.readings), ("water.csv", loaded.job.water_tests)):
        if name in mangled.files and name not in mangled.touched:
            assert _unsaid(mangled, name, loaded, {row.line for row in rows}) == []


def _holds(line: bytes, names: set[str]) -> bool:
    """Whether a row of rooms.csv holds one of these names, in whatever encoding it was taken for."""
    texts = [clean(line.decode(encoding, errors="ignore")) for encoding in ("utf-8", "cp1252", "latin-1")]
    return any(name in text for text in texts for name in names)


def _unsaid(mangled: Mangled, name: str, loaded: Loaded, used: set[int | None]) -> list[int]:
    """Lines of a table that hold something, were not used, and of which no problem speaks."""
    text = mangled.line_end.join(line.data for line in mangled.files[name])
    lines = re.split(rb"\r\n|\n|\r", text)
    header = lines[0]
    named: set[int | None] = set(used)
    for problem in loaded.problems:
        if problem.file == name:
            named.add(problem.line)
            for first, last in re.findall(r"(\d+)(?:-(\d+))?(?=[,)])", problem.expected):
                named |= set(range(int(first), int(last or first) + 1))
    kept = {room.room for room in loaded.job.rooms} if name == "rooms.csv" else set()
    runs_on = {number for number, line in enumerate(lines, start=2) if line.count(b'"') % 2}
    return [
        number
        for number, line in enumerate(lines, start=1)
        if number not in runs_on
        and line.strip(b' \t,;"\0')
        and line != header
        and number not in named
        and not _holds(line, kept)
    ]
