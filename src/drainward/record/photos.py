"""Photographs in the record, each under the SHA-256 of what it holds: kept twice it is there once.

keep    a photograph in
find    and out
"""

from __future__ import annotations

import hashlib

from sqlalchemy import Connection, select
from sqlalchemy.dialects.sqlite import insert

from drainward.job.photos import photo_type
from drainward.record.schema import PHOTO

__all__ = ["find", "keep"]


def keep(connection: Connection, data: bytes) -> str:
    """The name under which the photograph is kept. Raises ValueError where it is no JPEG or PNG, or too large."""
    media_type = photo_type(data, len(data))
    name = hashlib.sha256(data).hexdigest()
    connection.execute(insert(PHOTO).values(name=name, media_type=media_type, data=data).on_conflict_do_nothing())
    return name


def find(connection: Connection, name: str) -> tuple[bytes, str] | None:
    """What is kept under the name, and its media type; None where nothing is."""
    row = connection.execute(select(PHOTO.c.data, PHOTO.c.media_type).where(PHOTO.c.name == name)).one_or_none()
    return None if row is None else (row.data, row.media_type)
