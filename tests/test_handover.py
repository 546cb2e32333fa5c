"""The handover PDF: what it says, that it cannot be broken by what people type, and that it repeats byte for byte."""

from __future__ import annotations

import io
import re
from concurrent.futures import ThreadPoolExecutor

import hand_made
import pytest
from pypdf import PdfReader

from drainward.finding import Verdict
from drainward.job.model import Instrument, Job, Room
from drainward.report import handover_pdf, inputs_digest
from drainward.report.cautions import CERTAINTIES, cautions, water_cautions

LEVEL = Instrument(id="level-24", name="24 in level", length=0.61, u=0.0004)


def _job(room: Room) -> Job:
    return Job(
        name="Made-up care home",
        units={"U60": hand_made.unit()},
        rooms=(room,),
        instruments={"level-24": LEVEL},
        readings=hand_made.readings(),
    )


def _pdf(name: str = "101", **changes: object) -> bytes:
    room = Room(room=name, floor="1", unit="U60")
    readings = hand_made.readings()
    return handover_pdf(_job(room), room, hand_made.draft(**changes), hand_made.unit(), readings)


def _text(pdf: bytes) -> str:
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]
    return re.sub(r"\s+", " ", " ".join(pages))


@pytest.fixture(scope="module")
def told() -> str:
    return _text(_pdf())


def test_it_carries_the_verdict_first(told: str) -> None:
    assert told.startswith("Room 101")
    assert told.index("Fails: least fall") < told.index("Findings")


def test_it_shows_every_finding_with_its_source(told: str) -> None:
    for finding in hand_made.findings():
        assert finding.limit in told
        assert finding.source in told
    for shown in ("0.16 ± 0.03 in/ft", "1.31 ± 0.21 %", "95 %: 0.11 to 0.20 in/ft", "under 1 in 100"):
        assert shown in told


def test_it_shows_what_was_read_and_what_was_not_used(told: str) -> None:
    for reading in hand_made.readings():
        assert reading.written in told
    assert "24 in level" in told
    assert "Lines of readings.csv." in told
    assert "no. 2 (line 3): disagrees with readings 1 and 4 by 5 standard uncertainties" in told


def test_it_shows_the_mend_the_cautions_and_the_digest(told: str) -> None:
    room = Room(room="101", floor="1", unit="U60")
    digest = inputs_digest(_job(room), room, hand_made.unit(), hand_made.readings())
    assert told.count(digest) >= 2, "on every page's foot"
    assert 'front right +2/16", back left -1/16"' in told
    assert "at least 24 h by the unit's cut sheet" in told
    assert "page 1 of" in told
    for word in CERTAINTIES:
        assert word in told


@pytest.mark.parametrize("verdict", list(Verdict))
def test_it_never_approves(verdict: Verdict) -> None:
    told = _text(_pdf(verdict=verdict, mend=None, next_reading=None, rejected=(), ponds=(), high_spots=()))
    assert "complian" not in told.lower()
    assert "These are findings, not an approval." in told


def test_typed_text_prints_as_it_stands() -> None:
    assert 'Room #panic("x") *b* $1$ <a> \\u{41} [c] _d_' in _text(_pdf('#panic("x") *b* $1$ <a> \\u{41} [c] _d_'))


def test_same_inputs_same_bytes_even_side_by_side() -> None:
    with ThreadPoolExecutor(4) as pool:
        made = set(pool.map(lambda _: _pdf(), range(4)))
    assert len(made) == 1


def test_one_font_only_the_one_we_ship() -> None:
    fonts = {
        str(font.get_object()["/BaseFont"])
        for page in PdfReader(io.BytesIO(_pdf())).pages
        for font in page["/Resources"]["/Font"].values()  # type: ignore[index]
    }
    assert fonts
    assert all("DejaVuSans" in font for font in fonts)


def test_the_digest_follows_the_inputs() -> None:
    room, unit, readings = Room(room="101", unit="U60"), hand_made.unit(), hand_made.readings()
    base = inputs_digest(_job(room), room, unit, readings)
    assert base == inputs_digest(_job(room), room, unit, readings)
    moved = readings[0].model_copy(update={"value": readings[0].value + 1e-6})
    others = {
        inputs_digest(_job(room), room, unit, (moved, *readings[1:])),
        inputs_digest(_job(room), room, unit, readings[::-1]),
        inputs_digest(_job(room).model_copy(update={"risk": 0.01}), room, unit, readings),
        inputs_digest(_job(room), Room(room="102", unit="U60"), unit, readings),
    }
    assert len(others | {base}) == 5


def test_cautions_name_who_decides_and_what_hurts() -> None:
    told = " ".join(cautions(_job(Room(room="1", unit="U60")), hand_made.unit()))
    for word in (
        "authority having jurisdiction",
        "instructions",
        "licensed plumber",
        "24 h",
        "132 lb",
        "silica",
        "burns",
    ):
        assert word in told


def test_the_water_test_has_its_own_cautions_among_them() -> None:
    unit = hand_made.unit()
    water = water_cautions(unit)
    told = " ".join(water)
    for word in (
        "not cured",
        "24 h",
        "floor below",
        "burns skin deeply in less than 5 seconds",
        "slippery",
        "ground-fault",
    ):
        assert word in told
    assert all(line.startswith("Water test: ") for line in water)
    assert set(water) <= set(cautions(_job(Room(room="1", unit="U60")), unit))
