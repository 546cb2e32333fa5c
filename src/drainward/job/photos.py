"""Photographs of a job folder, in its folder `photos`.

PHOTOS, MOST   the folder's name; how large a photograph may be, bytes
MEDIA_TYPES    what it may be
photo_names    the files that there are
find_photo     the one that a row names
read_photo     and what it holds
photo_type     what a file is, by its first bytes
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from drainward.errors import QuantityError
from drainward.job.names import name_key, nearest

__all__ = ["MEDIA_TYPES", "MOST", "PHOTOS", "find_photo", "photo_names", "photo_type", "read_photo"]

PHOTOS = "photos"
MOST = 8_000_000

# First bytes: JPEG as ITU-T T.81, annex B, marker SOI and the marker after it; PNG as ISO/IEC 15948, 5.2. From memory.
_STARTS = {b"\xff\xd8\xff": "image/jpeg", b"\x89PNG\r\n\x1a\n": "image/png"}
_HEAD = max(map(len, _STARTS))
MEDIA_TYPES = tuple(_STARTS.values())


def photo_names(folder: Path) -> tuple[str, ...]:
    """Names of the files in the job folder's `photos`, in order; none where it cannot be opened."""
    try:
        return tuple(sorted(path.name for path in (folder / PHOTOS).iterdir() if path.is_file()))
    except OSError:
        return ()


def find_photo(folder: Path, names: Sequence[str], written: str) -> str:
    """The file's own name, found whatever the capitals; names : as `photo_names` gives them.

    Raises QuantityError where there is no such file, or it is no photograph that can be kept.
    """
    wanted = written.removeprefix(f"{PHOTOS}/")
    same = [name for name in names if name == wanted] or [name for name in names if name_key(name) == name_key(wanted)]
    if len(same) != 1:
        raise QuantityError(written, f"is no file in {PHOTOS}/{nearest(wanted, names)}; the row is kept without it")
    path = folder / PHOTOS / same[0]
    try:
        with path.open("rb") as file:
            photo_type(file.read(_HEAD), path.stat().st_size)
    except OSError as error:
        raise QuantityError(written, f"cannot be opened ({error.strerror}); the row is kept without it") from None
    except ValueError as error:
        raise QuantityError(written, f"{error}; the row is kept without it") from None
    return same[0]


def read_photo(folder: Path, name: str) -> tuple[bytes, str]:
    """A photograph of the job folder and its media type; name : as `find_photo` gives it.

    Raises OSError where it cannot be opened, QuantityError where it is no photograph.
    """
    data = (folder / PHOTOS / name).read_bytes()
    try:
        return data, photo_type(data, len(data))
    except ValueError as error:
        raise QuantityError(name, str(error)) from None


def photo_type(head: bytes, size: int) -> str:
    """image/jpeg or image/png.

    head : the first eight bytes or more; size : of the whole, bytes. Raises ValueError for anything else, or too large.
    """
    if size > MOST:
        raise ValueError(f"is {size / 1e6:.1f} MB large; expected at most {MOST / 1e6:.0f} MB")
    for start, name in _STARTS.items():
        if head.startswith(start):
            return name
    raise ValueError("is no JPEG or PNG picture by its first bytes")
