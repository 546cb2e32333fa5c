"""The water page of a handover as plain data, and the photographs on it.

Photos, Photo     how a photograph is got by its name; one as it is printed
fetch_photo       one by its name
fetch_photos      those of the recorded tests
water_page        what the layout shows of a water test
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from drainward.errors import DrainwardError
from drainward.floor.film.result import Water
from drainward.job.model import UnitModel
from drainward.report.cautions import water_cautions
from drainward.report.water_still import water_still
from drainward.report.water_still_svg import still_svg
from drainward.report.water_words import (
    Recorded,
    answered,
    expected,
    hang_rule,
    hang_says,
    recorded,
    remarks,
    water_headline,
)

__all__ = ["Photo", "Photos", "fetch_photo", "fetch_photos", "water_page"]

Photos = Callable[[str], tuple[bytes, str]]
"""Name -> photograph and media type; raises DrainwardError or OSError where there is none."""

_ENDINGS = {"image/jpeg": "jpg", "image/png": "png"}


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph: its file on the press with its data, both empty where it cannot be printed; `says` names it."""

    file: str
    data: bytes
    says: str


def fetch_photos(
    water: Water, photos: Photos | None, printable: Callable[[str, bytes], bool]
) -> tuple[Photo | None, ...]:
    """The photograph of each recorded test in their order; None for a test without one.

    printable : file and data -> whether the press can take it. A photograph that is missing or broken is told in its
    place: it never keeps the rest from being printed.
    """
    return tuple(
        fetch_photo(seen.test.photo, f"photo-{number}", photos, printable) if seen.test.photo else None
        for number, seen in enumerate(water.seen, 1)
    )


def water_page(
    water: Water, unit: UnitModel, width: float, photos: Sequence[Photo | None], findings: Sequence[dict[str, str]]
) -> dict[str, Any]:
    """Words, still and recorded tests.

    width : of the still, mm;  photos : as `fetch_photos` gives them;  findings : as the layout's tables show them
    """
    said = water_headline(water)
    basis = (
        f"Computed as a laminar film of water on {water.samples} floors drawn from what the readings leave open; "
        f"{water.used} readings used, {len(water.rejected)} not used."
    )
    return {
        "name": "Water test" if water.seen else "Water test, none recorded yet",
        "verdict": str(water.verdict),
        "says": said.says,
        "todo": said.todo,
        "expected": expected(water),
        "still": still_svg(water_still(water, unit), width),
        "basis": " ".join((basis, *remarks(water))),
        "answers": [{"what": one.what, "aside": one.aside, **asdict(one.spread)} for one in answered(water)],
        "findings": list(findings),
        "hang": hang_says(water.hang),
        "rule": hang_rule(water.hang),
        "tests": [_test(told, photo) for told, photo in zip(recorded(water), photos, strict=True)],
        "cautions": water_cautions(unit),
    }


def _test(told: Recorded, photo: Photo | None) -> dict[str, Any]:
    shown = {"photo": photo.file, "photo_says": photo.says} if photo else {"photo": "", "photo_says": ""}
    return {**asdict(told), **shown}


def fetch_photo(name: str, file: str, photos: Photos | None, printable: Callable[[str, bytes], bool]) -> Photo:
    """The photograph of that name; file : its name on the press, without ending;  printable : as for `fetch_photos`."""
    if photos is None:
        return Photo("", b"", f"Photograph {name}, kept with the job.")
    try:
        data, media_type = photos(name)
    except (DrainwardError, OSError) as error:
        return Photo("", b"", f"Photograph {name} could not be read: {error}")
    file = f"{file}.{_ENDINGS.get(media_type, 'jpg')}"
    digest = hashlib.sha256(data).hexdigest()
    says = f"SHA-256 {digest[:32]} {digest[32:]}"  # in two halves: it stands under a picture
    if media_type not in _ENDINGS or not printable(file, data):
        return Photo("", b"", f"Photograph {name} is no picture that can be printed. {says}.")
    return Photo(file, data, says)
