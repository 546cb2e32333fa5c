"""`drainward takeoff` and `drainward labels`: what they print, write and refuse."""

from __future__ import annotations

import csv
import io
import json
import subprocess
from datetime import date
from pathlib import Path

import openpyxl
import pypdf
import pytest
from bed_cases import room
from surveys import job

from drainward.cli import main
from drainward.job import load, write_job
from drainward.job.model import Delivered


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("takeoff") / "job"
    write_job(made, job(room(), (), rooms="1 2"))
    return made


def text(path: Path) -> str:
    told = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True)
    return " ".join(told.stdout.split())


def test_it_prints_and_writes_what_to_buy(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = {kind: tmp_path / f"buy.{kind}" for kind in ("xlsx", "csv", "pdf")}
    options = [word for kind, path in names.items() for word in (f"--{kind}", str(path))]
    assert main(["takeoff", str(folder), *options]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "bags of mortar: all beds together take" in told
    assert "Room 2: the bed is not known yet" in told
    assert "Saw list no date known" in told and "no list needs less" in told
    rows = list(csv.DictReader(io.StringIO(names["csv"].read_text())))
    bags = next(row for row in rows if row["what"] == "mortar")
    assert f"{bags['packs']} bags of mortar" in told
    sheet = openpyxl.load_workbook(names["xlsx"])["buy"]
    assert sheet["A2"].value == "mortar" and str(sheet["F2"].value) == bags["packs"]
    paper = text(names["pdf"])
    assert f"{bags['packs']} bags of mortar" in paper
    assert "Saw list" in paper and "what it is" in paper and "head plates" in paper


def test_json_says_the_same(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.pdf"
    assert main(["takeoff", str(folder), "--certainty", "0.9", "--braces", "1", "--pdf", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["stage"], told["verdict"], told["level"], told["problems"]) == ("takeoff", None, 0.9, [])
    assert told["guessed"] == ["2"] and told["files"][0]["file"] == str(path)
    assert {"what", "pack", "packs", "needed", "came", "deliveries"} == set(told["things"][0])


def test_a_row_that_names_nothing_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_job(tmp_path / "job", job((), (), rooms="1"))
    (tmp_path / "job/delivered.csv").write_text("when,what,packs\n2026-03-02,mortar,1\n2026-03-02,plaster,4\n,x,a\n")
    assert main(["takeoff", str(tmp_path / "job")]) == 65
    said = capsys.readouterr()
    assert 'delivered.csv, line 3, column "what": "plaster" is nothing that takeoff lists' in said.err
    assert 'line 4, column "when"' in said.err and 'line 4, column "packs"' in said.err
    assert "bags of mortar still to come" in " ".join(said.out.split())


def test_what_came_is_written_as_it_was_read(tmp_path: Path) -> None:
    came = tuple(
        Delivered(when=date(2026, 3, 2 + k), what="mortar", packs=packs, note="a, b")
        for k, packs in enumerate((24, -2, 0.5))
    )
    write_job(tmp_path / "job", job((), (), rooms="1").model_copy(update={"delivered": came}))
    found = load(tmp_path / "job")
    assert found.problems == ()
    assert tuple(row.model_copy(update={"file": "", "line": None}) for row in found.job.delivered) == came


@pytest.mark.parametrize("options", [["--certainty", "1"], ["--certainty", "0.1"], ["--braces", "0"]])
def test_bad_use(folder: Path, options: list[str]) -> None:
    assert main(["takeoff", str(folder), *options]) == 64


def test_labels(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "labels.pdf"
    assert main(["labels", str(folder), "--url", "https://trailer.local:8080", "--pdf", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["labels"]["rooms"] == ["1", "2"]
    (page,) = pypdf.PdfReader(path).pages
    assert "https://trailer.local:8080/rooms/2" in page.extract_text()
    assert main(["labels", str(folder), "--url", "https://trailer.local", "--room", "2", "--pdf", str(path)]) == 0
    assert "rooms/1" not in pypdf.PdfReader(path).pages[0].extract_text()
    assert main(["labels", str(folder), "--url", "trailer"]) == 64
    assert main(["labels", str(folder), "--url", "http://a", "--room", "9", "--pdf", str(path)]) == 64
