"""The line of every key, on the awkward corners of TOML and on whatever our own writer makes."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.job.toml_in import dotted
from drainward.job.toml_lines import Path, key_lines
from drainward.job.toml_out import toml_text

AWKWARD = '''\
# "a" = 1
a = "x = 1 # no comment"  # b = 2
"b c".d = 1
'e' = 2026-03-14 09:30:00
f = """
g = 1
\\""" [h]
"""
i = [ # one
  1, [2, {j = 3, k = {l = "}"}}],
  # m = 1
  'n]',
]
[o.p]
q = {r = 1, s.t = 2}
[[u]]
v = 1
  [u.w]
  x = true
[[u]]
v = \'\'\'
y\'\'\'\'
z = -inf
'''

EXPECTED = {
    ("a",): 2,
    ("b c", "d"): 3,
    ("e",): 4,
    ("f",): 5,
    ("i",): 9,
    ("i", 0): 10,
    ("i", 1, 1, "j"): 10,
    ("i", 1, 1, "k", "l"): 10,
    ("i", 2): 12,
    ("o", "p", "q", "r"): 15,
    ("o", "p", "q", "s", "t"): 15,
    ("u", 0): 16,
    ("u", 0, "v"): 17,
    ("u", 0, "w"): 18,
    ("u", 0, "w", "x"): 19,
    ("u", 1): 20,
    ("u", 1, "v"): 21,
    ("u", 1, "z"): 23,
}


def paths(value: Any, path: Path = ()) -> Iterator[Path]:
    """Every key and element of parsed data."""
    if path:
        yield path
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, below in inner:
        yield from paths(below, (*path, key))


def test_awkward_corners() -> None:
    lines = key_lines(AWKWARD)
    assert {path: lines.get(path) for path in EXPECTED} == EXPECTED
    assert set(paths(tomllib.loads(AWKWARD))) == set(lines)


KEYS = st.text("ab-_ é\"'.#=\\\n\x7f", max_size=3)
VALUES = st.recursive(
    st.text("a\"'#=[]{},\n\\\x7f\u2028é", max_size=6) | st.integers(-9, 9) | st.booleans() | st.dates(date(2000, 1, 1)),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=5),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, VALUES, max_size=5))
def test_what_is_written_reads_back_and_every_key_has_its_line(data: dict[str, Any]) -> None:
    text = toml_text(data)
    assert data == tomllib.loads(text)
    lines = key_lines(text)
    assert set(paths(data)) == set(lines)
    written = text.split("\n")
    for path, line in lines.items():
        last = path[-1]
        if isinstance(last, str) and last.isalpha():
            assert last in written[line - 1]


def test_a_value_without_a_form_is_refused() -> None:
    with pytest.raises(TypeError, match="no form for complex"):
        toml_text({"a": 1j})


def test_dotted_counts_elements_from_one() -> None:
    assert dotted(("floor", "heights", 0, "x")) == "floor.heights[1].x"
