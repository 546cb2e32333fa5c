"""A storey's plan as the page has it: shown by line, saved to the letter, refused by line, and once for one sending."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
import web_job
from test_web_survey import JSON, app, opened
from test_web_survey_entry import FORM

from drainward.record import EventKind, Store
from drainward.wayin.plan import read_plan
from drainward.web.guard import PLAN_LIMIT
from drainward.web.storeys import CHANGED

PLAN = """floor,kind,name,x,y,thickness,height,leaf,trim,mine
1,wall,outside,0,0,8 in,,,,a
1,wall,outside,12 ft,0,,,,,b
1,wal,typo,1 ft,0,,,,,c
2,wall,other,0,0,,,,,
2,wall,other,3.5 m,0,,,,,
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    found = web_job.write(tmp_path / "job")
    (found / "plan.csv").write_text(PLAN)
    return found


@pytest.fixture
def page(folder: Path, store: Store) -> Iterator[httpx.Client]:
    with opened(app(folder, store)) as client:
        yield client


def drawing(page: httpx.Client, floor: str = "1") -> dict[str, Any]:
    return dict(page.get("/plan.json", params={"floor": floor}).json())


def sent(found: dict[str, Any], rows: list[dict[str, Any]], **changes: str) -> dict[str, str]:
    form = {"id": str(uuid.uuid4()), "floor": "1", "digest": found["digest"], "who": "RK", "rows": json.dumps(rows)}
    return form | changes


def kept(found: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"line": row["line"], "cells": row["cells"] if row["point"] else None} for row in found["rows"]]


def point(kind: str, name: str, x: str, y: str, **cells: str) -> dict[str, Any]:
    return {"line": None, "cells": {"kind": kind, "name": name, "x": x, "y": y, **cells}}


def test_a_storey_is_given_with_its_rows_its_rooms_and_what_is_not_understood(page: httpx.Client) -> None:
    found = drawing(page)
    assert [(row["line"], row["point"]) for row in found["rows"]] == [(2, [0, 0]), (3, [3.6576, 0]), (4, None)]
    assert found["rows"][0]["thickness"] == pytest.approx(0.2032)
    assert [room["room"] for room in found["rooms"]] == ["101", "102", "103", "104"]
    assert [problem["line"] for problem in found["problems"]] == [4]
    html = page.get("/plan", params={"floor": "1"}).text
    assert 'value="2"' in html
    assert page.get("/plan", params={"floor": "9"}).status_code == 404


def test_a_drawing_goes_into_the_file_and_into_the_record(page: httpx.Client, folder: Path, store: Store) -> None:
    found = drawing(page)
    rows = [*kept(found)[:2], point("wall", "outside", "12 ft", "9'-6 3/8\""), kept(found)[2]]
    answer = page.post("/plan", data=sent(found, rows), headers=JSON)
    assert answer.status_code == 201, answer.text
    text = (folder / "plan.csv").read_text()
    assert text == PLAN.replace(",,,,,b\n", ',,,,,b\n1,wall,outside,12 ft,"9\'-6 3/8""",,,,,\n')
    assert len(read_plan(folder / "plan.csv")[0]["1"].walls[0].points) == 3
    (event,) = store.events(kind=EventKind.PLAN)
    assert (event.who, event.body) == ("RK", {"floor": "1", "text": text})
    assert answer.json()["digest"] == drawing(page)["digest"] != found["digest"]


def test_one_sending_is_drawn_once_and_another_on_an_old_file_is_refused(page: httpx.Client, folder: Path) -> None:
    found = drawing(page)
    form = sent(found, [*kept(found), point("start", "lift", "1 ft", "1 ft")])
    assert [page.post("/plan", data=form, headers=JSON).status_code for _ in range(2)] == [201, 201]
    assert (folder / "plan.csv").read_text().count("lift") == 1
    stale = page.post("/plan", data=sent(found, kept(found)), headers=JSON)
    assert (stale.status_code, CHANGED in stale.text) == (422, True)


def test_a_bad_plan_is_refused_by_line_and_row_and_nothing_is_written(
    page: httpx.Client, folder: Path, store: Store
) -> None:
    found = drawing(page)
    rows = [
        *kept(found),
        point("ceiling", "c", "0", "0"),
        point("ceiling", "c", "1 ft", "0"),
        point("start", "s", "5", "0"),
    ]
    refused = page.post("/plan", data=sent(found, rows), headers=JSON)
    problems = refused.json()["problems"]
    assert refused.status_code == 422
    assert {(p["row"], p["field"]) for p in problems} == {(3, "kind"), (5, "x")}
    assert any('plan.csv, line 9, column "x": "5" has no unit' in p["says"] for p in problems)
    assert (folder / "plan.csv").read_text() == PLAN
    assert store.events(kind=EventKind.PLAN) == ()


@pytest.mark.parametrize(
    "rows", ["", "{}", "[1]", '[{"line": null, "cells": null}]', '[{"line": 2, "cells": {"x": 3}}]']
)
def test_what_is_no_drawing_is_refused(page: httpx.Client, folder: Path, rows: str) -> None:
    answer = page.post("/plan", data=sent(drawing(page), []) | {"rows": rows}, headers=JSON)
    assert (answer.status_code, "no drawing of a storey" in answer.text) == (422, True)
    assert page.post("/plan", data={"rows": "x" * PLAN_LIMIT}, headers=JSON).status_code == 413
    assert (folder / "plan.csv").read_text() == PLAN


def test_a_page_without_a_record_shows_the_plan_and_takes_none(folder: Path) -> None:
    with opened(app(folder, None)) as page:
        found = drawing(page)
        assert found["writable"] is False
        assert page.post("/plan", data=sent(found, kept(found)), headers=JSON).status_code == 422
        assert (folder / "plan.csv").read_text() == PLAN


def test_a_job_without_a_plan_begins_one(page: httpx.Client, folder: Path) -> None:
    (folder / "plan.csv").unlink()
    found = drawing(page)
    assert (found["rows"], found["problems"]) == ([], [])
    rows = [point("wall", "1", "0", "0"), point("wall", "1", "10'-0\"", "0")]
    assert page.post("/plan", data=sent(found, rows), headers=JSON).status_code == 201
    plans, problems = read_plan(folder / "plan.csv")
    assert (problems, plans["1"].walls[0].points[1][0]) == ((), pytest.approx(3.048))


def test_a_measure_that_waited_on_a_phone_is_written_down_when_it_was_taken(page: httpx.Client, store: Store) -> None:
    now = datetime.now(UTC)
    for age in ("7200", "60"):  # sent again after a lost answer: the first time stands
        answer = page.post("/rooms/101/survey", data=FORM | {"age": age}, headers=JSON)
        assert answer.status_code == 201, answer.text
    (measure,) = store.measures("101")
    assert measure.when is not None
    assert abs(now - timedelta(hours=2) - measure.when) < timedelta(seconds=60)
