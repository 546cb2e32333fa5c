"""What holds a unit at the command line: exit codes, refusals, the clock beside the floor, all rooms.

Screws, braces and clock run the real engine over hand-made surveys; the draft check and the support are made by hand.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import bed_cases
import hand_made
import pytest
from pypdf import PdfReader
from surveys import UNIT, job, measure

from drainward.cli import main
from drainward.finding import Verdict
from drainward.floor.result import Draft
from drainward.job import Job, SettingEvent, What, Work, write_job
from drainward.job.materials import Site
from drainward.job.model import Instrument, Reading

PLACED = datetime(2026, 5, 4, 14, 0, tzinfo=UTC)
ROOMS = "good sloped open dry unread bare own"
VERDICTS = {"good": Verdict.MEETS, "sloped": Verdict.FAILS, "dry": Verdict.MEETS, "own": Verdict.MEETS}


def _draft(_job: Job, room: str, readings: tuple[Reading, ...], **asked: Any) -> Draft:
    """The hand-made draft; its verdict by the room's name, and open where nothing was read."""
    verdict = VERDICTS.get(room, Verdict.NOT_PROVEN) if readings else Verdict.NOT_PROVEN
    findings = tuple(replace(finding, verdict=verdict) for finding in hand_made.findings())
    stage = asked.get("stage", "draft")
    return hand_made.draft(
        room=room, stage=stage, verdict=verdict, findings=findings, used=len(readings), rejected=(), mend=None
    )


def _done(room: str, what: Work, hours: float, value: float | None = None) -> SettingEvent:
    when = PLACED + timedelta(hours=hours)
    return SettingEvent(id=f"{room}-{what}-{hours}", room=room, what=what, when=when, value=value, u=value and 1.0)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """`dry` was read and has no bed written down, `unread` the other way round, `own` stands on its own base."""
    own = UNIT.model_copy(update={"id": "own", "style": "own base"})
    survey = [*bed_cases.room(), measure(What.CEILING, 96.0, 1 / 8)]
    setting = [
        event
        for room in ("good", "sloped", "open", "unread")
        for event in (_done(room, Work.BED_PLACED, 0.0), _done(room, Work.SLAB_TEMPERATURE, 0.5, 21.0))
    ]
    given = job([one.model_copy(update={"id": f"{r}-{one.id}", "room": r}) for r in ROOMS.split() for one in survey
                 if r != "bare"], (), own, rooms=ROOMS)  # fmt: skip
    given = given.model_copy(update={
        "rooms": tuple(room.model_copy(update={"unit": "own"}) if room.room == "own" else room for room in given.rooms),
        "setting": tuple(setting),
        "site": Site(time_zone="America/Chicago"),
        "instruments": {"level-24": Instrument(id="level-24", name="24 in level", length=0.6096, u=0.0004)},
        "readings": tuple(
            one.model_copy(update={"id": f"{room}-{one.id}", "room": room})
            for room in ROOMS.split() if room not in ("unread", "bare")
            for one in hand_made.readings() if one.instrument == "level-24"
        ),
    })  # fmt: skip
    folder = tmp_path_factory.mktemp("hold") / "job"
    write_job(folder, given)
    return folder


@pytest.fixture
def folder(made: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("drainward.floor.draft_stage", _draft)
    return made


def _json(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


def _one(folder: Path, room: str, stage: str, *more: str) -> int:
    return main(["check", str(folder), "--room", room, "--stage", stage, *more])


@pytest.mark.parametrize(
    ("room", "code", "says"),
    [
        ("good", 0, ""),
        ("open", 2, ""),
        ("sloped", 2, "its draft check fails, and screws would hold the floor as it lies"),
        ("unread", 2, "read its floor first"),
        ("dry", 2, "nobody wrote down that its bed was placed"),
        ("own", 0, ""),
    ],
)
def test_screws_go_in_only_after_a_draft_check(
    folder: Path, room: str, code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _one(folder, room, "fasten", "--json") == code
    answer = _json(capsys)
    assert (answer["stage"], says in answer.get("says", "")) == ("fasten", True)
    assert bool(answer["findings"]) is not bool(says)
    assert answer["verdict"] == ("meets" if code == 0 else "not proven")


def test_the_screws_are_printed_in_their_order_with_cautions(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _one(folder, "good", "fasten") == 0
    out = " ".join(capsys.readouterr().out.split())
    places = [out.index(words) for words in ("Meets", "One screw after the other", "then right wall, front", "How",
                                             "Clutch on its lowest", "Take care", "have them dead")]  # fmt: skip
    assert places == sorted(places)
    assert _one(folder, "sloped", "fasten") == 2
    out = " ".join(capsys.readouterr().out.split())
    assert "move the unit in its wet bed and read it again" in out


def test_braces_say_what_to_cut(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _one(folder, "good", "brace", "--json") == 0
    answer = _json(capsys)
    assert not answer["uplift"]["assumed"]
    assert {piece["what"] for piece in answer["pieces"]} == {"board", "head plate", "post", "foot"}
    assert _one(folder, "good", "brace") == 0
    out = " ".join(capsys.readouterr().out.split())
    places = [out.index(words) for words in ("Braces", "To cut", "How", "Take care", "A post that slips falls")]
    assert places == sorted(places)


def test_a_room_nobody_surveyed_gets_braces_for_an_ordinary_bed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _one(folder, "bare", "brace", "--json") == 2
    answer = _json(capsys)
    assert answer["uplift"]["assumed"]
    assert any("ordinary one" in line for line in answer["assumed"])
    assert _one(folder, "own", "brace", "--json") == 0, "nothing is to be braced there"
    assert "stands on its own base" in _json(capsys)["says"]


@pytest.mark.parametrize(("at", "code"), [("2026-05-05T09:00", 2), ("2026-05-20T09:00", 0)])
def test_the_clock_stands_beside_the_floor(
    folder: Path, at: str, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    found = _one(folder, "good", "cure", "--at", at, "--json")
    answer = _json(capsys)
    ids = [finding["id"] for finding in answer["findings"]]
    assert ids[-3:] == ["cure/age", "cure/braces", "cure/temperature"]
    assert len(ids) > 3, "the floor's findings stand before the clock's"
    assert answer["clock"]["now"] == {2: "2026-05-05T14:00:00+00:00", 0: "2026-05-20T14:00:00+00:00"}[code]
    age = next(finding for finding in answer["findings"] if finding["id"] == "cure/age")
    assert age["verdict"] == {2: "not proven", 0: "meets"}[code]
    assert found == 2, "nobody wrote down that the braces stood"


def test_without_a_bed_the_floor_stands_alone_and_says_so(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for room, says in (("dry", "nobody wrote down when the bed"), ("own", "stands on its own base")):
        assert _one(folder, room, "cure", "--json") == 0
        answer = _json(capsys)
        assert answer["clock"] is None
        assert says in answer["clock_says"]
        assert not any(finding["id"].startswith("cure/") for finding in answer["findings"])
        assert _one(folder, room, "cure") == 0
        assert says in " ".join(capsys.readouterr().out.split()).lower()


def test_a_time_that_is_none_is_bad_use(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _one(folder, "good", "cure", "--at", "noon") == 64
    assert '--at "noon" is no time; expected such as 2026-05-06T14:30' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("stage", "verdicts", "counted"),
    [
        ("fasten", {"good": "meets", "open": "not proven", "sloped": "not proven", "unread": "not proven"},
         "2 meet, 3 not proven, 2 not read yet."),
        ("brace", {"good": "meets", "bare": "not proven", "own": "meets"}, "5 meet, 1 not proven, 1 has no bed."),
        ("cure", {"good": "not proven", "sloped": "fails", "unread": "not proven", "dry": "meets"},
         "2 meet, 1 fails, 3 not proven, 1 not read yet."),
    ],
)  # fmt: skip
def test_all_rooms(
    folder: Path, stage: str, verdicts: dict[str, str], counted: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code = 1 if stage == "cure" else 2
    whole = ["check", str(folder), "--stage", stage, "--at", "2026-05-20T09:00"]
    assert main([*whole, "--json"]) == code
    answer = _json(capsys)
    found = {room["room"]: room for room in answer["rooms"]}
    assert {room: found[room]["verdict"] for room in verdicts} == verdicts
    if stage == "cure":
        assert found["unread"]["clock"]["placed"] == "2026-05-04T14:00:00+00:00", "its clock runs, read or not"
    assert main(whole) == code
    assert f"7 rooms: {counted}" in capsys.readouterr().out


def test_the_bed_is_mixed_for_the_slab_as_it_was_read(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    read, taken = [], []
    for room in ("good", "dry"):
        _one(folder, room, "bed", "--json")
        answer = _json(capsys)
        read.append(answer["batches"]["temperature"])
        taken.append(any("slab is taken to be at" in line for line in answer["assumed"]))
    assert read[0] == pytest.approx(21.0)
    assert taken == [False, True]


def test_the_handover_has_what_holds_it(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "good.pdf"
    assert main(["handover", str(folder), "--room", "good", "--output", str(path)]) == 0
    assert "Its bed: Cured sure enough since 2026-05-07" in " ".join(capsys.readouterr().out.split())
    words = " ".join("".join(page.extract_text() for page in PdfReader(path).pages).split())
    for part in ("What holds it", "Screws, in the order they go in", "a screw, in this order", "head plate",
                 "A post that slips falls"):  # fmt: skip
        assert part in words
    assert main(["handover", str(folder), "--room", "sloped", "--output", str(path), "--json"]) == 1
    answer = _json(capsys)
    assert answer["hold"]["fasten"] is None
    assert "its draft check fails" in answer["hold"]["refused"]["fasten"]
    assert answer["hold"]["cure"]["clock"]["placed"] == "2026-05-04T14:00:00+00:00"
    assert main(["handover", str(folder), "--room", "dry", "--output", str(path), "--json"]) == 0
    assert "hold" not in _json(capsys), "nothing was written down there"
