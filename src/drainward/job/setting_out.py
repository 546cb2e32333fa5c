"""What was done when units were set as rows of setting.csv.

SETTING_COLUMNS   its columns in order
setting_cells     the row of one event, by column
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from drainward.job.model import Instrument, SettingEvent, Work
from drainward.job.setting_file import parser_of, usual_u
from drainward.job.written import length_text, mass_text, step_text, still_says, temperature_text, when_text

__all__ = ["SETTING_COLUMNS", "setting_cells"]

SETTING_COLUMNS = ("room", "when", "what", "value", "u", "who", "instrument", "note", "id")

_Text = Callable[[float], str]
_TEXTS: Mapping[Work, tuple[_Text, _Text]] = {
    Work.MORTAR_USED: (mass_text, mass_text),
    **dict.fromkeys((Work.SLAB_TEMPERATURE, Work.AIR_TEMPERATURE), (temperature_text, step_text)),
    **dict.fromkeys(
        (Work.GAP_UNDER_THRESHOLD, Work.HEAD_OVER_DRAIN, Work.HEAD_OVER_THRESHOLD), (length_text, length_text)
    ),
}
"""How the value and its uncertainty are written anew."""


def setting_cells(event: SettingEvent, instruments: Mapping[str, Instrument], bag: float) -> dict[str, str]:
    """The row of an event by column. An uncertainty that `load` would find by itself stays blank.

    bag : mass of a bag, kg
    """
    value, u = event.value, event.u
    texts = _TEXTS.get(event.what)
    told = own = ""
    if texts is not None and value is not None and u is not None:
        parse = parser_of(event.what, bag)
        told = event.written if still_says(event.written, value, lambda text: parse(text).value) else texts[0](value)
        own = "" if u == usual_u(event.what, value, instruments.get(event.instrument)) else texts[1](u)
    return {
        "room": event.room,
        "when": when_text(event.when),
        "what": str(event.what),
        "value": told,
        "u": own,
        "who": event.who,
        "instrument": event.instrument,
        "note": " ".join(event.note.split()),
        "id": event.id,
    }
