"""Labels carry every room once, eight to a page; the code holds the address of the room's page."""

from __future__ import annotations

import io

import hand_made
import pypdf
import segno

from drainward.job import Job, Room
from drainward.report.room_labels import _code, room_labels_pdf

PAGE = "https://trailer.local:8080/"


def job(*rooms: str) -> Job:
    return Job(
        name="Maple Court",
        units={"U60": hand_made.unit()},
        rooms=tuple(Room(room=room, floor="2", unit="U60") for room in rooms),
    )


def test_every_room_once_eight_to_a_page() -> None:
    made = job(*(str(200 + k) for k in range(11)), "North wing, 2nd bath", '#panic("x") *b* $1$')
    raw = room_labels_pdf(made, made.rooms, PAGE)
    assert raw == room_labels_pdf(made, made.rooms, PAGE)
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(raw)).pages]
    assert len(pages) == 2
    assert [text.count("Maple Court") for text in pages] == [8, 5]
    assert "https://trailer.local:8080/rooms/207" in pages[0].replace("\n", "")
    assert "rooms/North%20wing%2C%202nd%20bath" in pages[1].replace("\n", "")
    assert '#panic("x") *b* $1$' in pages[1].replace("\n", "")


def test_the_code_is_that_of_the_address_at_level_m_with_a_quiet_border() -> None:
    address = PAGE + "rooms/207"
    code = segno.make(address, error="m", micro=False, boost_error=True)
    assert code.error in "MQH"
    svg = _code(address)
    side = len(list(code.matrix)) + 8
    assert f'width="{side}" height="{side}"' in svg
    # 34 mm on paper: no module smaller than 0.6 mm, which a phone reads at arm's length
    assert 34 / side >= 0.6
