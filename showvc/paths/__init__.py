"""Who hears whom, over what, how, and how surely. Pure; knows the document alone.

How to use it::

    paths = talk_paths(show)                      # Paths; talk_paths(show, frozenset({"devices/desk-01"})): without
    later = advance(paths, other)                 # the same for another show, at the cost of what differs
    paths.surely, paths.possibly                  # a Reading each: what is not in the document left out, or put in

    read.row(x), read.over(x, target[, tier])     # bits of those who hear x: over any target but a line; over one
    read.names(bits), read.holds(x, y[, over]), read.heard_by(x), read.hears(y), read.pairs(), read.positions
    read.hands(x)                                 # the targets that x can talk to, and how: key, open, page, menu
    read.on_headset, read.is_on_headset(user), read.keys(user)

    difference(paths, later)                      # lost, gained, lost_over(targets), weaker, off_headset, ...
    required_states(paths), apart_states(paths), public_states(paths), rings(paths)
    explain(paths, x, y[, before]), ways(paths, x, y), proposals(paths, x, y), reach_of(paths, x)
    alone(paths), target_members(paths), line_talkers(paths, line), end_of(paths, "fly", "to", SURELY)

Positions are users who are no ports, and circuits; their ids are one set. A tier is how sure an ear is: SURE,
AT_LEVEL_0 (would be sure were all levels 0), ANY. A pair's grade (`best_grade`) orders hands and tiers as the states of
a required path do. Nothing here is changed after it was made; what was worked out once is kept in it.

The modules: `facts` what stands, `lists` who listens where, `network` where bridges lead, `reading` the bits,
`model` the paths of a show and of the next, `ways` hop by hop, `grades` what is better, `ends` who is meant by an end.
"""

from showvc.paths.apart import ApartState, Overheard, PublicState, apart_states, public_states
from showvc.paths.difference import Difference, Facet, Over, Weaker, difference, lost_by_both
from showvc.paths.ends import End, end_of
from showvc.paths.explaining import Explanation, explain
from showvc.paths.facts import NOTHING_OUT, POSSIBLY, SURELY, UNWRITTEN, Case, Out
from showvc.paths.grades import GRADES, Grade, best_grade, graded
from showvc.paths.hands import HANDS, Hand, KeyAt
from showvc.paths.model import Paths, advance, talk_paths, with_out
from showvc.paths.naming import check_position, on_group, spoken
from showvc.paths.pairs import Pair, Pairs
from showvc.paths.proposing import Edit, Proposal, free_number, proposals
from showvc.paths.reach import LineTalker, Members, Reach, Reached, alone, line_talkers, reach_of, target_members
from showvc.paths.reading import ANY, AT_LEVEL_0, SURE, Reading
from showvc.paths.required import (
    STATES,
    RequiredState,
    State,
    required_between,
    required_pairs,
    required_state,
    required_states,
)
from showvc.paths.rings import Ring, closes_ring, is_ring, is_smallest, rings
from showvc.paths.tables import (
    CIRCUITS,
    CSV_HEAD,
    HAND_WORDS,
    LEGEND,
    SMALL,
    csv_rows,
    department_shares,
    letters,
    matrix_table,
    matrix_text,
    summary_text,
)
from showvc.paths.ways import Doubt, Hop, Way, ways
from showvc.paths.wording import (
    WHAT_A_PATH_IS,
    asked_words,
    between_words,
    doubt_words,
    edit_words,
    end_words,
    explanation_text,
    hop_words,
    members_text,
    reach_text,
    required_words,
    ring_words,
)

__all__ = [
    "ANY",
    "AT_LEVEL_0",
    "CIRCUITS",
    "CSV_HEAD",
    "GRADES",
    "HANDS",
    "HAND_WORDS",
    "LEGEND",
    "NOTHING_OUT",
    "POSSIBLY",
    "SMALL",
    "STATES",
    "SURE",
    "SURELY",
    "UNWRITTEN",
    "WHAT_A_PATH_IS",
    "ApartState",
    "Case",
    "Difference",
    "Doubt",
    "Edit",
    "End",
    "Explanation",
    "Facet",
    "Grade",
    "Hand",
    "Hop",
    "KeyAt",
    "LineTalker",
    "Members",
    "Out",
    "Over",
    "Overheard",
    "Pair",
    "Pairs",
    "Paths",
    "Proposal",
    "PublicState",
    "Reach",
    "Reached",
    "Reading",
    "RequiredState",
    "Ring",
    "State",
    "Way",
    "Weaker",
    "advance",
    "alone",
    "apart_states",
    "asked_words",
    "best_grade",
    "between_words",
    "check_position",
    "closes_ring",
    "csv_rows",
    "department_shares",
    "difference",
    "doubt_words",
    "edit_words",
    "end_of",
    "end_words",
    "explain",
    "explanation_text",
    "free_number",
    "graded",
    "hop_words",
    "is_ring",
    "is_smallest",
    "letters",
    "line_talkers",
    "lost_by_both",
    "matrix_table",
    "matrix_text",
    "members_text",
    "on_group",
    "proposals",
    "public_states",
    "reach_of",
    "reach_text",
    "required_between",
    "required_pairs",
    "required_state",
    "required_states",
    "required_words",
    "ring_words",
    "rings",
    "spoken",
    "summary_text",
    "talk_paths",
    "target_members",
    "ways",
    "with_out",
]
