"""Two shows to changes, and the effect of these on who hears whom."""

from showvc.changes.change import Change, Comparison, Edit, Subject
from showvc.changes.compare import edits, edits_at
from showvc.changes.effect import Effect, RequiredChange, compare, effect_of
from showvc.changes.folding import Folder
from showvc.changes.patch import json_patch

__all__ = [
    "Change",
    "Comparison",
    "Edit",
    "Effect",
    "Folder",
    "RequiredChange",
    "Subject",
    "compare",
    "edits",
    "edits_at",
    "effect_of",
    "json_patch",
]
