"""Writes docs/rules.md to standard output: `python -m drainward.rules > docs/rules.md`."""

from __future__ import annotations

import sys

from drainward.rules.markdown import rules_markdown

if __name__ == "__main__":
    sys.stdout.write(rules_markdown())
