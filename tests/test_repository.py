"""The house rules that a machine can hold: no address or machine path in a file, layers, docstrings, exported names."""

from __future__ import annotations

import ast
import importlib
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "drainward"
MODULES = sorted(SOURCE.rglob("*.py"))
REQUIREMENTS = ("requirements.txt", "requirements-dev.txt")

_ADDRESS = re.compile(
    r"https?:|--(?:extra-)?index-url|--find-links|--trusted-host|^-[if] |@ ?(?:git|file)", re.MULTILINE
)
_MACHINE_PATH = re.compile(rf"(?<![\w.~$-])/(?:root|tmp|home/[a-z]+|Users/\w+)/|{re.escape(str(ROOT))}\b")
_INDEX_ADDRESS = re.compile(r"https?://\S*(?:/simple\b|\.whl\b|\.tar\.gz\b)")


def _tracked() -> list[Path]:
    git = shutil.which("git")
    if git is None or not (ROOT / ".git").exists():
        files = [path for path in ROOT.rglob("*") if path.is_file() and ".venv" not in path.parts]
    else:
        listed = subprocess.run([git, "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True, text=True).stdout
        files = [ROOT / name for name in listed.split("\0") if name]
    return [path for path in files if path.is_file()]


def _texts() -> list[tuple[str, str]]:
    found = []
    for path in _tracked():
        raw = path.read_bytes()
        if b"\0" not in raw:
            found.append((str(path.relative_to(ROOT)), raw.decode()))
    return found


def _name(path: Path) -> str:
    parts = path.relative_to(SOURCE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@pytest.mark.parametrize("name", REQUIREMENTS)
def test_requirements_hold_pins_with_hashes_and_no_address(name: str) -> None:
    text = (ROOT / name).read_text()
    assert _ADDRESS.search(text) is None
    pins = re.findall(r"^[a-z0-9].*", text, re.MULTILINE)
    assert len(pins) > 20
    assert [pin for pin in pins if not re.match(r"[a-z0-9._-]+==[^ ]+ (;.*)?\\$", pin)] == []
    assert text.count("--hash=sha256:") >= len(pins)


def _pins(name: str) -> dict[str, str]:
    return dict(re.findall(r"^([a-z0-9._-]+)==([^ ]+)", (ROOT / name).read_text(), re.MULTILINE))


def test_tests_run_on_the_versions_that_people_install() -> None:
    shipped, tried = _pins("requirements.txt"), _pins("requirements-dev.txt")
    assert shipped.items() <= tried.items()
    assert {"setuptools", "wheel"} <= shipped.keys(), "the build backend is pinned like everything else"


def test_every_declared_dependency_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    extras = project["optional-dependencies"]
    for names, pins in (
        ([*project["dependencies"], *extras["build"]], _pins("requirements.txt")),
        (extras["dev"], _pins("requirements-dev.txt")),
    ):
        assert {re.split(r"[\[<>=~ ]", name)[0].lower() for name in names} <= pins.keys()


@pytest.mark.parametrize(
    ("pattern", "bad"),
    [
        (_ADDRESS, "--index" + "-url somewhere"),
        (_ADDRESS, "name @ https://host/name"),
        (_MACHINE_PATH, f"see {ROOT}/README.md"),
        (_MACHINE_PATH, '"/|home/anna/job"'),
        (_INDEX_ADDRESS, "https://host/|simple/"),
    ],
)
def test_the_patterns_find_what_they_look_for(pattern: re.Pattern[str], bad: str) -> None:
    assert pattern.search(bad.replace("|", ""))  # the bar keeps this file itself clean


def test_no_tracked_file_names_an_index_or_a_path_of_one_machine() -> None:
    texts = _texts()
    assert len(texts) > 20
    found = [
        (name, match[0]) for name, text in texts for p in (_MACHINE_PATH, _INDEX_ADDRESS) for match in p.finditer(text)
    ]
    assert found == []


def test_layers_hold() -> None:
    run = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(SOURCE.parent)},
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_module_tells_what_it_holds_and_exports_what_it_names(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text())), f"{_name(path)} has no docstring"
    module = importlib.import_module(_name(path))
    exported = getattr(module, "__all__", [])
    assert [name for name in exported if not hasattr(module, name)] == []
    assert sorted(set(exported)) == sorted(exported), "a name is exported twice"


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_file_is_small_enough_to_read(path: Path) -> None:
    assert len(path.read_text().splitlines()) <= 600


def test_functions_are_short_enough_to_read() -> None:
    long = [
        f"{_name(path)}.{node.name}: {node.end_lineno - node.lineno + 1} lines"
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and node.end_lineno is not None
        and node.end_lineno - node.lineno + 1 > 60
    ]
    assert long == []
