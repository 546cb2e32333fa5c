"""The clock of a bed: from what was written down alone, later in the cold, never under 72 h or the cut sheet."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import job_texts
import pytest

from drainward.errors import StageError
from drainward.finding import Finding, Verdict
from drainward.hold.clock import Clock, clock, clock_findings
from drainward.hold.cure import LAWS
from drainward.job import SettingEvent, Site, Work
from drainward.record import Store, setting_event

HOUR = 3600.0
PLACED = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
UNIT = job_texts.unit_models()["alcove"]


def done(what: Work, hours: float, fahrenheit: float | None = None, u: float = 0.5) -> SettingEvent:
    value = None if fahrenheit is None else (fahrenheit - 32) / 1.8
    when = PLACED + timedelta(hours=hours)
    id = f"{what}-{hours}"
    return SettingEvent(id=id, room="101", what=what, when=when, value=value, u=None if value is None else u)


def read_every(step: float, until: float, fahrenheit: float) -> list[SettingEvent]:
    return [done(Work.SLAB_TEMPERATURE, k * step, fahrenheit) for k in range(int(until / step) + 1)]


def told(hours: float, *events: SettingEvent, site: Site | None = None) -> Clock:
    bed = done(Work.BED_PLACED, 0)
    return clock("101", UNIT, [bed, *events], site or Site(), PLACED + timedelta(hours=hours))


def finding(found: Clock, name: str) -> Finding:
    return next(f for f in clock_findings(found, Site(), 0.05) if f.id == name)


def test_seventy_degrees_is_seventy_two_hours() -> None:
    found = told(71.0, *read_every(6, 66, 72))
    assert found.needed == 72 * HOUR
    assert found.ready == PLACED + timedelta(hours=72)
    assert finding(found, "cure/age").verdict is Verdict.NOT_PROVEN
    assert finding(told(75.0, *read_every(6, 72, 75)), "cure/age").verdict is Verdict.MEETS


def test_heat_never_shortens_it_and_cold_lengthens_it() -> None:
    assert told(80.0, *read_every(6, 78, 95)).ready == PLACED + timedelta(hours=72)
    cold = told(80.0, *read_every(6, 78, 50))
    assert cold.ready is not None
    assert (cold.ready - PLACED).total_seconds() / HOUR == pytest.approx(152.0, abs=0.05), "mechanics: the longest"
    assert cold.law == LAWS[0].name


def test_the_cut_sheet_may_ask_for_longer() -> None:
    longer = UNIT.model_copy(update={"minimum_cure": 120 * HOUR})
    found = clock(
        "101", longer, [done(Work.BED_PLACED, 0), *read_every(6, 78, 75)], Site(), PLACED + timedelta(hours=80)
    )
    assert (found.needed, found.ready) == (120 * HOUR, PLACED + timedelta(hours=120))


def test_the_band_holds_the_time_told_and_readings_narrow_it() -> None:
    few, many = told(60.0, done(Work.SLAB_TEMPERATURE, 0, 58)), told(60.0, *read_every(6, 60, 58))
    for found in (few, many):
        assert found.earliest is not None and found.ready is not None and found.latest is not None
        assert found.earliest <= found.ready <= found.latest
        assert found.may is not None and found.ready <= found.may <= found.latest
    assert many.u < few.u
    assert many.latest < few.latest  # type: ignore[operator]
    assert told(60.0).assumed == ("Nobody read the slab's temperature: it is taken to lie within 10 °F of 70 °F.",)


def test_may_is_when_the_age_is_proven() -> None:
    events = read_every(6, 60, 58)
    found = told(60.0, *events)
    assert found.may is not None
    hours = (found.may - PLACED).total_seconds() / HOUR
    assert finding(told(hours + 0.1, *events), "cure/age").verdict is Verdict.MEETS
    assert finding(told(hours - 0.5, *events), "cure/age").verdict is Verdict.NOT_PROVEN


def test_braces() -> None:
    warm = read_every(6, 96, 72)
    on = done(Work.BRACES_ON, 1)
    assert finding(told(80.0, *warm), "cure/braces").verdict is Verdict.NOT_PROVEN, "nobody wrote them down"
    assert "stay on until" in finding(told(24.0, *warm, on), "cure/braces").advice
    assert finding(told(80.0, *warm, on), "cure/braces").advice == "They may come off."
    early = finding(told(96.0, *warm, on, done(Work.BRACES_OFF, 40)), "cure/braces")
    assert (early.verdict, early.value) == (Verdict.FAILS, 40 * HOUR)
    assert finding(told(96.0, *warm, on, done(Work.BRACES_OFF, 80)), "cure/braces").verdict is Verdict.MEETS


def test_cold_fails_and_heat_asks_to_listen() -> None:
    assert finding(told(24.0, *read_every(6, 24, 36)), "cure/temperature").verdict is Verdict.FAILS
    hot = finding(told(24.0, *read_every(6, 24, 98)), "cure/temperature")
    assert (hot.verdict, "tap" in hot.advice) == (Verdict.NOT_PROVEN, True)
    assert finding(told(24.0, *read_every(6, 24, 65)), "cure/temperature").verdict is Verdict.MEETS
    assert finding(told(24.0), "cure/temperature").verdict is Verdict.NOT_PROVEN
    later = [*read_every(6, 72, 72), done(Work.SLAB_TEMPERATURE, 400, 20)]
    assert finding(told(500.0, *later), "cure/temperature").verdict is Verdict.MEETS, "the bed had cured by then"


def test_frozen_for_good_is_never_ready() -> None:
    frozen = told(24.0, *read_every(6, 24, 20), site=Site(spread=2.0))
    assert (frozen.ready, frozen.latest, frozen.may) == (None, None, None)
    assert "does not come while it stays so cold" in finding(frozen, "cure/age").advice


def test_the_last_bed_counts_and_what_was_done_to_the_first_does_not() -> None:
    found = told(30.0, done(Work.BRACES_ON, 1), done(Work.BED_PLACED, 5))
    assert (found.placed, found.braces_on) == (PLACED + timedelta(hours=5), None)
    assert found.ready == PLACED + timedelta(hours=77)


def test_air_stands_for_the_slab_only_where_nobody_read_it() -> None:
    air = [done(Work.AIR_TEMPERATURE, hour, 40, u=3.0) for hour in (1, 20)]
    found = told(24.0, done(Work.SLAB_TEMPERATURE, 2, 60), *air)
    assert [(row.at / HOUR, row.air) for row in found.known] == [(2.0, False), (20.0, True)]
    assert any("stands for the slab's" in line for line in found.assumed)


def test_no_bed_no_clock() -> None:
    with pytest.raises(StageError, match="nobody wrote down when the bed of room 101 was placed"):
        clock("101", UNIT, [], Site(), PLACED)
    with pytest.raises(StageError):
        told(-1.0)
    with pytest.raises(ValueError, match="aware of its zone"):
        clock("101", UNIT, [], Site(), PLACED.replace(tzinfo=None))


def test_the_clock_on_the_wall() -> None:
    wall = [event.model_copy(update={"when": event.when.replace(tzinfo=None)}) for event in (done(Work.BED_PLACED, 0),)]
    found = clock("101", UNIT, wall, Site(time_zone="America/Chicago"), PLACED + timedelta(hours=24))
    assert found.placed == PLACED + timedelta(hours=6)


def test_a_program_that_starts_anew_reads_the_same_clock(tmp_path: Path) -> None:
    events = [done(Work.BED_PLACED, 0), done(Work.BRACES_ON, 1), *read_every(6, 24, 58)]
    with Store.open(tmp_path / "record.sqlite") as store:
        store.append([setting_event(event, PLACED) for event in events])
    now = PLACED + timedelta(hours=30)
    with Store.open(tmp_path / "record.sqlite") as store:
        again = clock("101", UNIT, store.setting("101"), Site(), now)
    assert again == clock("101", UNIT, events, Site(), now)


def test_json() -> None:
    body = json.loads(json.dumps(told(30.0, *read_every(6, 24, 58)).as_json()))
    assert body["placed"] == "2026-03-01T12:00:00+00:00"
    assert len(body["by_law"]) == len(LAWS)
    assert replace(told(1.0), ready=None).as_json()["ready"] is None
