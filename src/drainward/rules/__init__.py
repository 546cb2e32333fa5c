"""Rules as data, and the one evaluator.

load_rules, RuleBook                    a job's rules: picked sets, local rules, confirmed rows
evaluate_normal, evaluate_probability   a value against a requirement gives a Finding
"""

from __future__ import annotations

from drainward.rules.book import RuleBook, load_rules, read_set, rule_set_ids
from drainward.rules.evaluate import evaluate_normal, evaluate_probability
from drainward.rules.written import limit_words

__all__ = [
    "RuleBook",
    "evaluate_normal",
    "evaluate_probability",
    "limit_words",
    "load_rules",
    "read_set",
    "rule_set_ids",
]
