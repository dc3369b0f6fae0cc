"""Who hears whom: paths, their keys and reasons, required paths, rings. Pure; knows the document alone."""

from showvc.paths.matrix import Change, Matrix, advance, lost_and_gained, talk_paths
from showvc.paths.pairs import Pair, Pairs
from showvc.paths.rings import Ring, is_ring, ring_words, rings_of

__all__ = [
    "Change",
    "Matrix",
    "Pair",
    "Pairs",
    "Ring",
    "advance",
    "is_ring",
    "lost_and_gained",
    "ring_words",
    "rings_of",
    "talk_paths",
]
