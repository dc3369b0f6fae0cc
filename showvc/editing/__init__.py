"""Many edits in one: each function makes a show of a show."""

from showvc.editing.done import Done
from showvc.editing.exchanging import replace, swap
from showvc.editing.fields import Read, remove_fields, set_fields
from showvc.editing.giving import Wish, give, is_many
from showvc.editing.ids import copy, rename
from showvc.editing.patching import patched
from showvc.editing.places import Where, conditions, places
from showvc.editing.removing import remove_everywhere

__all__ = [
    "Done",
    "Read",
    "Where",
    "Wish",
    "conditions",
    "copy",
    "give",
    "is_many",
    "patched",
    "places",
    "remove_everywhere",
    "remove_fields",
    "rename",
    "replace",
    "set_fields",
    "swap",
]
