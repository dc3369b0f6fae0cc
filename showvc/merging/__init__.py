"""Three sides to one: conflicts, and how they are settled."""

from showvc.merging.conflict import Conflict, Merge, Settlement, Side, SideProblem, Sides, settle, settle_by_value
from showvc.merging.merge import merge

__all__ = ["Conflict", "Merge", "Settlement", "Side", "SideProblem", "Sides", "merge", "settle", "settle_by_value"]
