"""The crew's card: the room's own numbers, on one page, in every language of the catalogues."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from string import Formatter

import pypdf
import pytest
from babel.messages.extract import extract_from_file
from babel.messages.pofile import read_po
from surveys import UNIT, job, survey

from drainward.pocket.stage import dry_set_stage, set_stage
from drainward.quantity import INCH
from drainward.report import card as card_module
from drainward.report.card import BatchRow, BraceRow, Card, ClockRow, Moment, ReadRow, card_of, card_pdf
from drainward.report.language import LANGUAGES, LOCALE, clock_in, say_in

BEGIN = datetime(2026, 11, 2, 7, 15)  # noqa: DTZ001 a local time of the site, as the card takes it


@cache
def full() -> Card:
    """A card with every line filled, of a pocket whose numbers were computed."""
    made = job(survey())
    known = card_of(made, made.rooms[0], UNIT, dry_set_stage(made, "1", samples=50), set_stage(made, "1"))
    return replace(
        known,
        floor="3",
        batches=tuple(
            BatchRow(1.25, 0.0015 + k * 1e-4, BEGIN + timedelta(minutes=20 * k), BEGIN + timedelta(minutes=20 * k + 45))
            for k in range(3)
        ),
        tubes=1.6,
        reads=tuple(ReadRow(0.1 * k, 0.1, 0.76, 0.45, 0.0052, 0.0208) for k in range(1, 7)),
        braces=(BraceRow(2, "2x4", 59.5 * INCH), BraceRow(4, "2x4", 33.25 * INCH)),
        clocks=tuple(ClockRow(moment, BEGIN + timedelta(hours=20 * k)) for k, moment in enumerate(Moment)),
    )


def words(raw: bytes) -> str:
    (page,) = pypdf.PdfReader(io.BytesIO(raw)).pages
    return " ".join(page.extract_text().split())


def test_the_card_holds_the_rooms_own_numbers_on_one_page() -> None:
    card = full()
    text = words(card_pdf(card))
    assert "Room 1" in text
    assert "Floor 3" in text
    assert len(card.shims) == 13
    for row in card.shims:
        assert f"{row.wall} {row.stud}, " in text
    for row in card.holes:
        assert len(row.at) > 2
    assert "3.75 bags in all." in text
    assert "Adhesive under the threshold: 1.75 tubes." in text
    assert "Braced by Tue 3 Nov, 11:15 PM" in text
    assert "not known yet" not in text.lower()
    assert "____" not in text.split("Clock")[1].split("Take care")[0]


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_card_of_a_room_nobody_measured_says_so_and_leaves_blanks(language: str) -> None:
    made = job(())
    text = words(card_pdf(card_of(made, made.rooms[0], UNIT, None, None), language))
    assert text.count(say_in(language)("Not known yet: ask before you begin.")) == 5
    assert text.count("________") >= 5


def test_the_spanish_card_is_spanish_with_the_same_numbers() -> None:
    card = full()
    english, spanish = words(card_pdf(card)), words(card_pdf(card, "es"))
    for phrase in ("Cuarto 1", "Prueba en seco", "montante", "3.75 bolsas en total.", "Cuidado", "Puntales".lower()):
        assert phrase in spanish
    assert english.count('"') == spanish.count('"')
    assert clock_in("es", BEGIN).startswith("lun")
    assert clock_in("en", BEGIN) == "Mon 2 Nov, 7:15 AM"


def test_a_card_is_the_same_bytes_each_time() -> None:
    assert card_pdf(full(), "es") == card_pdf(full(), "es")


def test_the_card_fits_one_page_with_many_studs() -> None:
    card = full()
    crowded = replace(card, shims=card.shims * 2, reads=card.reads * 2, batches=card.batches * 2)
    words(card_pdf(crowded, "es"))


def test_a_language_without_a_catalogue_is_refused() -> None:
    with pytest.raises(ValueError, match="no catalogue for 'xx'; there are en, es"):
        card_pdf(full(), "xx")


def _asked() -> set[str]:
    return {
        message if isinstance(message, str) else message[0]
        for _, message, _, _ in extract_from_file("python", str(Path(card_module.__file__)), {"say": None})
    }


@pytest.mark.parametrize("language", sorted(set(LANGUAGES) - {"en"}))
def test_every_sentence_has_its_translation_with_the_same_fields_and_no_other(language: str) -> None:
    with (LOCALE / language / "LC_MESSAGES" / "drainward.po").open("rb") as file:
        catalogue = {str(m.id): str(m.string) for m in read_po(file) if m.id}
    assert _asked() == set(catalogue)
    for sentence, translated in catalogue.items():
        fields = [sorted(name for _, name, _, _ in Formatter().parse(text) if name) for text in (sentence, translated)]
        assert fields[0] == fields[1], sentence
        assert translated, sentence


def test_every_catalogue_is_a_language_and_every_language_has_one() -> None:
    assert {path.name for path in LOCALE.iterdir()} | {"en"} == set(LANGUAGES)
