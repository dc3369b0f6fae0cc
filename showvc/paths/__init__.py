"""Who hears whom: paths, their keys and reasons, required paths, rings. Pure; knows the document alone."""

from showvc.paths.matrix import Change, Matrix, advance, lost_and_gained, talk_paths
from showvc.paths.pairs import Pair, Pairs

__all__ = ["Change", "Matrix", "Pair", "Pairs", "advance", "lost_and_gained", "talk_paths"]
