"""Checks on a folder of scheduling instances: right at the published makespan, wrong beside it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from drainward.cli import main
from drainward.errors import InputError
from drainward.validation import project_checks, run_check

# ours, in the format of the instances: two jobs of 3 and 4 that share one resource take 7
TINY = """\
projects                      :  1
jobs (incl. supersource/sink ):  4
************************************************************************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           4
   4        1          0
************************************************************************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1
------------------------------------------------------------------------
  1      1     0       0
  2      1     3       1
  3      1     4       1
  4      1     0       0
************************************************************************
RESOURCEAVAILABILITIES:
  R 1
    1
************************************************************************
"""


def folder(tmp_path: Path, optimum: str) -> Path:
    (tmp_path / "tiny.sm").write_text(TINY)
    (tmp_path / "optimum.csv").write_text(f"problem,optimum\ntiny.sm,{optimum}\n")
    return tmp_path


def test_a_published_makespan_is_reached_and_another_is_not(tmp_path: Path) -> None:
    (check,) = project_checks(folder(tmp_path, "7"), 5.0)
    assert (check.id, check.expected, run_check(check).passed) == ("psplib/tiny", 7.0, True)
    assert "Kolisch and Sprecher" in check.source
    for wrong in ("6", "8"):
        (check,) = project_checks(folder(tmp_path, wrong), 5.0)
        assert run_check(check).passed is False


def test_the_command_runs_them_beside_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("drainward.cli.validate.CHECKS", ())
    assert main(["validate", "--psplib", str(folder(tmp_path, "7")), "--json"]) == 0
    assert [check["id"] for check in json.loads(capsys.readouterr().out)["checks"]] == ["psplib/tiny"]
    assert main(["validate", "--psplib", str(folder(tmp_path, "6"))]) == 1
    assert main(["validate", "--psplib", str(folder(tmp_path, "six"))]) == 65


@pytest.mark.parametrize(
    ("optimum", "message"),
    [("six", 'optimum.csv, line 2, column "optimum": "six" expected the name'), ("7\nother.sm,3", "line 3, names it")],
)
def test_a_table_that_is_wrong_is_refused(tmp_path: Path, optimum: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        project_checks(folder(tmp_path, optimum))


def test_a_folder_without_its_table_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"optimum\.csv"):
        project_checks(tmp_path)
