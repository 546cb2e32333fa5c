"""Writes docs/validation.md to standard output: `python -m drainward.validation > docs/validation.md`."""

from __future__ import annotations

import sys

from drainward.validation import CHECKS, validation_markdown

if __name__ == "__main__":
    sys.stdout.write(validation_markdown(CHECKS))
