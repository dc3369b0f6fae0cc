"""Keeps the configuration of a live show's intercom safe while several people change it.

From Python, without git or a terminal:

    show = showvc.read("salt-road.show.yaml")
    comparison = showvc.compare(before, after)
    merge = showvc.merge(before, mine, incoming)
    merge = showvc.merge(before, mine, incoming, [showvc.settle(merge.conflicts[0], "incoming")])
    findings = showvc.check(show)
    matrix = showvc.talk_paths(show)
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from showvc.changes import compare
    from showvc.document import Show, ShowError
    from showvc.formats import read
    from showvc.merging import Choice, Conflict, Merge, Settlement, choices, merge, settle, settle_by_value
    from showvc.paths import talk_paths
    from showvc.rules import check

__all__ = [
    "Choice",
    "Conflict",
    "Merge",
    "Settlement",
    "Show",
    "ShowError",
    "check",
    "choices",
    "compare",
    "merge",
    "read",
    "settle",
    "settle_by_value",
    "talk_paths",
]
__version__ = "0.1.0"

# Read when first asked for, so that the command line starts at once.
_HOMES = {
    "Show": "document",
    "ShowError": "document",
    "check": "rules",
    "compare": "changes",
    **dict.fromkeys(
        ("Choice", "Conflict", "Merge", "Settlement", "choices", "merge", "settle", "settle_by_value"), "merging"
    ),
    "read": "formats",
    "talk_paths": "paths",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'showvc' has no attribute {name!r}")
    return getattr(importlib.import_module(f"showvc.{_HOMES[name]}"), name)
