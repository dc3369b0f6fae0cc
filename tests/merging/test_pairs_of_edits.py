"""All that is critical in the example show taken away two at a time, one on each side of a merge.

What only the pair loses is judged by `tests/paths/oracle`, written from the sentences of what a path is and knowing
nothing of the program: none of it may be recorded unasked. Every pair with `SHOWVC_EXAMPLES`, else some of them.
"""

from __future__ import annotations

import os
import random
from collections import Counter
from collections.abc import Iterator
from functools import cache
from itertools import combinations
from typing import Any, NamedTuple

import pytest

from showvc.document import whole_tree
from showvc.document.editing import put
from showvc.document.pointers import join
from showvc.merging import Merge, merge
from tests.changes.test_nothing_goes_untold import SHOW, TAKEN
from tests.paths.oracle.effect import now_off
from tests.paths.oracle.sound import pairs, surely
from tests.paths.ours import doc_of

ALL = "SHOWVC_EXAMPLES" in os.environ
SAMPLE = 40


class Held(NamedTuple):
    """Who hears whom over what, who hears whom over any target but a line, and who is on headset."""

    over: frozenset[tuple[str, str, str]]
    pairs: frozenset[tuple[str, str]]
