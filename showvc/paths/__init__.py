"""Who hears whom: paths, their keys and reasons, required paths, rings. Pure; knows the document alone."""

from showvc.paths.explaining import Explanation, Proposal, explain
from showvc.paths.hops import Edit, Hop
from showvc.paths.keys import Hand, Hands, KeyAt, KeyChange, Keys, hands_of, key_changes, keys_of
from showvc.paths.matrix import Change, Matrix, advance, lost_and_gained, talk_paths
from showvc.paths.members import Alone, LineTalker, Members, alone, group_members, line_talkers, thin_groups
from showvc.paths.naming import check_user
from showvc.paths.pairs import Pair, Pairs
from showvc.paths.required import RequiredState, required_state, required_states
from showvc.paths.rings import Ring, is_ring, ring_words, rings_of

__all__ = [
    "Alone",
    "Change",
    "Edit",
    "Explanation",
    "Hand",
    "Hands",
    "Hop",
    "KeyAt",
    "KeyChange",
    "Keys",
    "LineTalker",
    "Matrix",
    "Members",
    "Pair",
    "Pairs",
    "Proposal",
    "RequiredState",
    "Ring",
    "advance",
    "alone",
    "check_user",
    "explain",
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
