"""Who hears whom: paths, their keys and reasons, required paths, rings. Pure; knows the document alone."""

from showvc.paths.explaining import Explanation, Proposal, explain
from showvc.paths.hops import Edit, Hop, free_number
from showvc.paths.keys import Hand, Hands, KeyAt, KeyChange, Keys, hands_of, key_changes, keys_of
from showvc.paths.matrix import Change, Matrix, advance, lost_and_gained, talk_paths
from showvc.paths.members import Alone, LineTalker, Members, alone, group_members, line_talkers, thin_groups
from showvc.paths.naming import check_user, spoken
from showvc.paths.pairs import Pair, Pairs
from showvc.paths.reaching import Reach, Reached, Via, reach_of
from showvc.paths.required import RequiredState, required_state, required_states
from showvc.paths.rings import Ring, is_ring, ring_words, rings_of
from showvc.paths.tables import (
    CSV_HEAD,
    HAND_WORDS,
    SMALL,
    csv_rows,
    department_shares,
    matrix_table,
    matrix_text,
    summary_text,
)
from showvc.paths.wording import asked_words, explanation_text, hop_words, reach_text, required_words

__all__ = [
    "CSV_HEAD",
    "HAND_WORDS",
    "SMALL",
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
    "Reach",
    "Reached",
    "RequiredState",
    "Ring",
    "Via",
    "advance",
    "alone",
    "asked_words",
    "check_user",
    "csv_rows",
    "department_shares",
    "explain",
    "explanation_text",
    "free_number",
    "group_members",
    "hands_of",
    "hop_words",
    "is_ring",
    "key_changes",
    "keys_of",
    "line_talkers",
    "lost_and_gained",
    "matrix_table",
    "matrix_text",
    "reach_of",
    "reach_text",
    "required_state",
    "required_states",
    "required_words",
    "ring_words",
    "rings_of",
    "spoken",
    "summary_text",
    "talk_paths",
    "thin_groups",
]
