"""Who hears whom: paths, their keys and reasons, required paths, rings. Pure; knows the document alone."""

from showvc.paths.keys import Hand, Hands, KeyAt, KeyChange, Keys, hands_of, key_changes, keys_of
from showvc.paths.matrix import Change, Matrix, advance, lost_and_gained, talk_paths
from showvc.paths.members import Alone, LineTalker, Members, alone, group_members, line_talkers, thin_groups
from showvc.paths.pairs import Pair, Pairs
from showvc.paths.required import RequiredState, required_state, required_states
from showvc.paths.rings import Ring, is_ring, ring_words, rings_of

__all__ = [
    "Alone",
    "Change",
    "Hand",
    "Hands",
    "KeyAt",
    "KeyChange",
    "Keys",
    "LineTalker",
    "Matrix",
    "Members",
    "Pair",
    "Pairs",
    "RequiredState",
    "Ring",
    "advance",
    "alone",
    "group_members",
    "hands_of",
    "is_ring",
    "key_changes",
    "keys_of",
    "line_talkers",
    "lost_and_gained",
    "required_state",
    "required_states",
    "ring_words",
    "rings_of",
    "talk_paths",
    "thin_groups",
]
