"""The commands as a page, written from their own help: docs/commands.md.

commands_markdown   the whole page
"""

from __future__ import annotations

import typer

from drainward.cli.app import app

__all__ = ["commands_markdown"]

_WIDTH = 100

_HEAD = """# Commands

Written from `--help` by `python -m drainward.cli.reference > docs/commands.md`; do not edit by hand. A test fails when
it is stale.

Exit codes, the same for every command:

| code | meaning |
|---|---|
| 0 | meets: every finding is within its limit |
| 1 | fails: a finding is beyond its limit |
| 2 | not proven: what was read leaves it open |
| 64 | bad use: a wrong option, folder or room |
| 65 | bad input: something in the job could not be read; what could be was computed and printed all the same |

`demo` and `serve` end with 0 whatever the made-up or shown rooms come to; `validate` ends with 1 when a check fails.
Answers go to stdout, problems of the input and progress to stderr. `--json` prints one object on one line, described in
docs/json.md.
"""


def commands_markdown() -> str:
    """The page, in Markdown, ending with a newline."""
    root = typer.main.get_command(app)
    outer = typer.Context(root, info_name="drainward", terminal_width=_WIDTH, max_content_width=_WIDTH)
    parts = [_HEAD]
    for name, command in root.commands.items():  # type: ignore[attr-defined]
        inner = typer.Context(command, info_name=name, parent=outer, terminal_width=_WIDTH, max_content_width=_WIDTH)
        parts.append(f"## drainward {name}\n\n```text\n{command.get_help(inner)}\n```\n")
    return "\n".join(parts)


if __name__ == "__main__":
    typer.echo(commands_markdown(), nl=False)
