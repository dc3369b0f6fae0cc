"""Two shows to changes, and the effect of these on who hears whom."""

from showvc.changes.change import Change, Comparison, Edit, Subject
from showvc.changes.compare import edits
from showvc.changes.patch import json_patch

__all__ = ["Change", "Comparison", "Edit", "Subject", "edits", "json_patch"]
