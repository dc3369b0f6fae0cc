"""Why one position can be heard by another, over every target; or the smallest edits that would make it so."""

from __future__ import annotations

from dataclasses import dataclass

from showvc.document import Show
from showvc.paths.model import Paths
from showvc.paths.naming import check_position
from showvc.paths.proposing import Proposal, proposals
from showvc.paths.ways import Doubt, Way, ways


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why the listener hears the talker, or what it would take.

    `ways` is one for each target over which the pair holds, the surest first; `line_ways` those over lines, which do
    not count as a path between the two. `possibly` are ways that hold were all true that is not in the document,
    where none holds surely. Without a path, `proposals` are sets of edits of the same smallest size, at most three, and
    `off_headset` are those of the two who are.
    """

    talker: str
    listener: str
    ways: tuple[Way, ...]
    line_ways: tuple[Way, ...] = ()
    possibly: tuple[Way, ...] = ()
    proposals: tuple[Proposal, ...] = ()
    off_headset: tuple[str, ...] = ()

    @property
    def holds(self) -> bool:
        """Whether there is a path, read surely."""
        return bool(self.ways)

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """What has to be true for the path that possibly holds."""
        return min((way.doubts for way in self.possibly), key=len, default=())


def explain(paths: Paths, talker: str, listener: str, before: Show | None = None) -> Explanation:
    """Why, or what it would take. `before`: the show of which something was just taken away.

    ShowError where one of the two is no position (a user who is no port, or a circuit), or both are the same.
    """
    check_position(paths.show, talker)
    check_position(paths.show, listener, other_than=talker)
    lines = paths.surely.line_names
    every = ways(paths, talker, listener)
    direct = tuple(way for way in every if way.target not in lines)
    over_lines = tuple(way for way in every if way.target in lines)
    if direct:
        return Explanation(talker, listener, direct, over_lines)
    maybe = tuple(way for way in ways(paths, talker, listener, paths.possibly) if way.target not in lines)
    offered = proposals(paths, talker, listener, before=before)
    off = tuple(w for w in (talker, listener) if w in paths.lists.parts and not paths.surely.is_on_headset(w))
    maybe = tuple(sorted(maybe, key=lambda way: len(way.doubts)))
    return Explanation(talker, listener, (), over_lines, maybe, offered, off)
