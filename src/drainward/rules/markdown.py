"""The rules as a page that a person can read and check: docs/rules.md, written from the data.

rules_markdown   the whole page
"""

from __future__ import annotations

from drainward.rules.book import read_set, rule_set_ids
from drainward.rules.row import SHOWERS, Rule, RuleSet
from drainward.rules.written import limit_words

__all__ = ["rules_markdown"]

_HEAD = """# Rules

Written from the data in `src/drainward/rules/data` by `python -m drainward.rules > docs/rules.md`; do not edit by hand.
A test fails when this page is stale.

A job picks its rule sets in `job.toml`:

```toml
[rules]
use = ["us-plumbing-irc-2021", "us-ada-2010", "practice"]
shower = "standard roll-in"          # or "transfer", "alternate roll-in", "not accessible"
clear_space_in_shower = false        # true where a required clear or turning space lies on the shower floor
confirmed = []                       # rows that you checked against the printed text

[[rules.local]]                      # your own rule, here the percent reading of one row
id = "job/fall-2-percent"
what = "Least fall of the shower floor, read as 2 percent by the building official"
quantity = "floor.fall.least"
low = "2 %"
replaces = ["us-plumbing-irc-2021/P2709.1-least"]
```

How sure each row is:

| word | meaning | may decide a verdict alone |
|---|---|---|
| seen | the standard's own wording was read in a stored copy of the page named | yes |
| secondary | read in a retelling, not in the standard | yes |
| computed | worked out from another row | yes |
| common practice | what the trade does; no standard says it | yes |
| memory | remembered, not seen | no: check it and list it under `confirmed` |
| local | the job's own rule, or a row that the job confirmed | yes |

A row marked **disputed** never decides until the job confirms it; the rows that contradict it then drop out.
Check every row against the printed text that is in force where you build. Nothing here is legal advice.
"""


def rules_markdown() -> str:
    """The page, in Markdown, ending with a newline."""
    return "\n".join([_HEAD, *(_set(read_set(id)) for id in rule_set_ids())])


def _set(rule_set: RuleSet) -> str:
    lines = [f"## {rule_set.id}", "", f"{rule_set.name}. Decided by {rule_set.decided_by}.", ""]
    lines += [f"Tolerances: {rule_set.tolerances.rstrip('.')}.", ""]
    lines += [text for note in (rule_set.note, rule_set.ask) if note for text in (note, "")]
    lines += ["| row | what | limit | binds | showers | section | how sure |", "|---|---|---|---|---|---|---|"]
    lines += [_row(rule) for rule in rule_set.rules()]
    remarks = [remark for rule in rule_set.rules() if (remark := _remark(rule))]
    return "\n".join([*lines, *([""] if remarks else []), *remarks, ""])


def _row(rule: Rule) -> str:
    requirement, row = rule.requirement, rule.row
    showers = "all" if set(rule.shower) == set(SHOWERS) else ", ".join(rule.shower)
    sure = f"{row.certainty}" + (f": {row.seen_in}" if row.seen_in else "")
    limit = limit_words(requirement)
    if rule.other_written is not None:
        limit += f"; the text also says {rule.other_written}"
    cells = (f"`{row.id}`", row.what, limit, row.binds, showers, row.section, sure)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _remark(rule: Rule) -> str:
    row = rule.row
    parts = [f"Disputed: {row.disputed}." if row.disputed else "", *row.exceptions, row.note or ""]
    if row.only_where:
        parts.insert(0, f"Only where the job says `{row.only_where} = true`.")
    text = " ".join(part for part in parts if part)
    return f"- `{row.id}`: {text}" if text else ""
