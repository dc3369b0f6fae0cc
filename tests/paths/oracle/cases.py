"""Worked cases of who hears whom: a tiny show each, and what an engineer would say of it, written by hand.

They are read as a specification. How the shows are written stands in `building.py`; what is asked of a case stands in
its `asks`, question by question, and sets are whole.

What a case may be asked, all of it in words:
   heard      pairs that surely are                      "sm>a, sm>b"
   maybe      pairs that are only possibly               "sm>a"
   paths      paths over every target, the best way      "sm>a over fly: key sure"
   off        who is off headset                         "sm"
   raises     who can raise a line                       {"alarm": "sm, a"}
   hears      who hears a line                           {"alarm": "sm, a"}
   required   states                                     {"id": "met"}
   names      circuits named by a required path          {"id": "house"}
   takes      what takes a required path away            {"id": "bridges/b1"}
   failures   what each single thing takes away          {"carriers/ant": "must, fly"}; in brackets: by hand not
   apart      kept, broken, maybe, with its pairs        {"id": "broken sm>a"}
   clash      required and apart at once                 "must never sm>a"
   public     microphones that reach the public          "sm over fly to hall: open surely"
   rings, maybe_rings                                    "b1+b2, b2+b3"; `independent` their number
   full       what runs out                              "ant slots"
   effect     of `doc` becoming `after`; fields not named are empty
"""

from __future__ import annotations

from tests.paths.oracle.cases_bridges import BRIDGES, CAPACITIES, PORTS, TURNS
from tests.paths.oracle.cases_effect import EFFECTS
from tests.paths.oracle.cases_hearing import HEADSETS, KEYS, LINES, LISTENING
from tests.paths.oracle.cases_required import APART, FAILURES, PUBLIC, REQUIRED, RINGS, WAYS

CASES = [
    *LISTENING, *HEADSETS, *KEYS, *LINES, *BRIDGES, *PORTS, *TURNS, *CAPACITIES,
    *REQUIRED, *WAYS, *FAILURES, *APART, *PUBLIC, *RINGS, *EFFECTS,
]  # fmt: skip
