"""Three sides to one: conflicts, and how they are settled."""

from showvc.merging.choices import Choice, choices, effect_of_choice, plain_merge
from showvc.merging.conflict import (
    Conflict,
    Merge,
    Settlement,
    Side,
    SideProblem,
    settle,
    settle_by_value,
    value_place,
)
from showvc.merging.crossing import Base, crossed
from showvc.merging.merge import merge
from showvc.merging.sides import Sides
from showvc.merging.twins import unify

__all__ = [
    "Base",
    "Choice",
    "Conflict",
    "Merge",
    "Settlement",
    "Side",
    "SideProblem",
    "Sides",
    "choices",
    "crossed",
    "effect_of_choice",
    "merge",
    "plain_merge",
    "settle",
    "settle_by_value",
    "unify",
    "value_place",
]
