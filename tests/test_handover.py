"""The handover PDF: what it says, that it cannot be broken by what people type, and that it repeats byte for byte."""

from __future__ import annotations

import hashlib
import io
import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import hand_made
import pytest
from pypdf import PdfReader

from drainward.errors import InputError, Problem
from drainward.finding import Verdict
from drainward.job.model import Instrument, Job, Room
from drainward.report import handover_pdf, inputs_digest
from drainward.report.cautions import CERTAINTIES, cautions, water_cautions
from drainward.report.handover_water import Photos

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


def _wet(photos: Photos | None = None, **changes: object) -> bytes:
    room = Room(room="101", floor="1", unit="U60")
    water = hand_made.water(**changes)
    return handover_pdf(_job(room), room, hand_made.draft(), hand_made.unit(), hand_made.readings(), water, photos)


def _photographed(name: str = "floor.png") -> dict[str, object]:
    return {"seen": (replace(hand_made.water().seen[0], test=hand_made.water_test(photo=name)),)}


def _pictures(pdf: bytes) -> int:
    return sum(len(page.images) for page in PdfReader(io.BytesIO(pdf)).pages)


@pytest.fixture(scope="module")
def wet_pdf() -> bytes:
    return _wet()


@pytest.fixture(scope="module")
def wet(wet_pdf: bytes) -> str:
    return _text(wet_pdf)


def test_the_first_page_names_the_water_test_s_verdict_too(wet_pdf: bytes) -> None:
    first = PdfReader(io.BytesIO(wet_pdf)).pages[0].extract_text()
    assert "Water test: ? Not proven: water test as seen beside the water computed" in re.sub(r"\s+", " ", first)
    assert "Water test:" not in PdfReader(io.BytesIO(_pdf())).pages[0].extract_text()


def test_the_water_page_begins_a_page_after_the_floor_and_before_the_cautions(wet_pdf: bytes) -> None:
    pages = [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(wet_pdf)).pages]
    (begins,) = (k for k, page in enumerate(pages) if page.startswith("Water test ?"))
    assert "What was read" in "".join(pages[:begins])
    assert "Seen by" in pages[-1]
    assert begins < len(pages) - 1


def test_the_water_page_shows_what_the_pour_does_and_every_finding(wet: str) -> None:
    water = hand_made.water()
    for part in (
        "after about 1 min 50 s, 95 %: 1 min 20 s to 2 min 40 s",
        "about 4 fl oz 120 mL 2.1 to 7.5 fl oz 62 to 220 mL",
        "1 min 35 s to never within an hour",
        "200 floors drawn from what the readings leave open; 5 readings used, 1 not used",
        "Such a film is no pond",
        "refills to the same outline after wiping and a second pour",
    ):
        assert part in wet
    for finding in water.findings:
        assert finding.what in wet
        assert finding.limit in wet


def test_the_water_page_shows_each_recorded_test(wet: str) -> None:
    for part in (
        "Recorded test 1, Ana B.: 1 gal (3.79 L) over the floor within 1 min 2 s; no soap",
        "Drained: 2 min 15 s until drops; computed about 1 min 50 s",
        "Puddles: 2 seen; to be expected 2 in 100.",
        'seen 1: 45-1/4" from the left, 26-3/4" from the back, 4" across, 5/32" (4.0 mm) deep',
        "Not as computed. The puddle in the front left",
        "Why: Puddles: a dip that no reading crosses, 81 in 100; Puddles: water that hangs by itself, 19 in 100.",
        "The reading that would tell: Read: the gap under the middle of a straightedge",
    ):
        assert part in wet


def test_without_a_recorded_test_it_says_so_on_both_pages() -> None:
    told = _text(_wet(seen=(), next_reading=None))
    assert told.count("Water test, none recorded yet") == 2
    assert "No water test is recorded for this room: all of this is computed from the readings alone." in told


def test_the_water_test_s_cautions_stand_once(wet: str) -> None:
    for caution in water_cautions(hand_made.unit()):
        assert wet.count(caution) == 1


def test_a_photograph_is_printed_beside_its_test_with_its_digest() -> None:
    pdf = _wet(lambda name: (hand_made.png(), "image/png"), **_photographed())
    assert _pictures(pdf) == 1
    digest = hashlib.sha256(hand_made.png()).hexdigest()
    assert f"SHA-256 {digest[:32]} {digest[32:]}" in _text(pdf)


@pytest.mark.parametrize(
    ("data", "media_type"),
    [(b"no picture", "image/png"), (hand_made.png()[:40], "image/png"), (hand_made.png(), "text/html")],
    ids=["nonsense", "cut off", "another kind"],
)
def test_a_photograph_that_cannot_be_printed_is_told(data: bytes, media_type: str) -> None:
    pdf = _wet(lambda name: (data, media_type), **_photographed("<b>.png"))
    assert _pictures(pdf) == 0
    assert "Photograph <b>.png is no picture that can be printed. SHA-256" in _text(pdf)


def test_a_photograph_that_is_gone_is_told() -> None:
    def gone(name: str) -> tuple[bytes, str]:
        raise InputError((Problem("record.sqlite", None, "photo", name, "is no photograph of this record"),))

    told = _text(_wet(gone, **_photographed()))
    assert "Photograph floor.png could not be read: record.sqlite" in told
    assert "is no photograph of this record" in told
    assert "Photograph floor.png, kept with the job." in _text(_wet(None, **_photographed()))


def test_same_water_same_bytes_and_other_tests_another_digest() -> None:
    first, second = (_wet(lambda name: (hand_made.png(), "image/png"), **_photographed()) for _ in range(2))
    assert first == second
    room = Room(room="101", floor="1", unit="U60")
    parts = _job(room), room, hand_made.unit(), hand_made.readings()
    digests = {
        inputs_digest(*parts),
        inputs_digest(*parts, ()),
        inputs_digest(*parts, (hand_made.water_test(),)),
        inputs_digest(*parts, (hand_made.water_test(soap=True),)),
    }
    assert len(digests) == 4


@pytest.mark.parametrize("verdict", list(Verdict))
def test_the_water_page_never_approves(verdict: Verdict) -> None:
    assert "complian" not in _text(_wet(verdict=verdict)).lower()
