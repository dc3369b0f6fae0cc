"""Two shows to changes, and the effect of these on who hears whom."""

from showvc.changes.causes import Cause, Loss, causes
from showvc.changes.change import Change, Comparison, Edit, Subject
from showvc.changes.compare import edits, edits_at
from showvc.changes.effect import Crossed, Effect, Heard, RequiredChange, compare, effect_between, effect_of
from showvc.changes.folding import Folder
from showvc.changes.patch import json_patch

__all__ = [
    "Cause",
    "Change",
    "Comparison",
    "Crossed",
    "Edit",
    "Effect",
    "Folder",
    "Heard",
    "Loss",
    "RequiredChange",
    "Subject",
    "causes",
    "compare",
    "edits",
    "edits_at",
    "effect_between",
    "effect_of",
    "json_patch",
]
