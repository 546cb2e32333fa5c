"""Labels to stick beside the doors of rooms, a sheet of eight: `room_labels_pdf`. Layout stands in room_labels.typ.

A big number to be read from the corridor, and a code that opens the room's page on a phone; black on white.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

from drainward.job.model import Job, Room
from drainward.job.names import room_path
from drainward.report.press import print_pdf

__all__ = ["room_labels_pdf"]


def room_labels_pdf(job: Job, rooms: Sequence[Room], page: str) -> bytes:
    """Eight labels to a letter page, in the order given.

    page : address of the job's page as a phone on site reaches it, such as https://trailer.local:8080
    """
    labels = []
    for room in rooms:
        address = page.rstrip("/") + room_path(room.room)
        unit = job.units.get(room.unit)
        labels.append(
            {
                "room": room.room,
                "floor": room.floor,
                "unit": room.unit if unit is None else unit.name,
                "address": address,
                "code": _code(address),
            }
        )
    return print_pdf("room_labels.typ", {"job": job.name, "labels": labels})


def _code(address: str) -> str:
    """A QR code (ISO/IEC 18004) that is still read with 15 % of it scraped off, with its quiet border, as SVG."""
    import segno

    out = io.BytesIO()
    segno.make(address, error="m", micro=False).save(out, kind="svg", border=4, scale=1, nl=False)
    return out.getvalue().decode()
