"""Ids that changed: the same thing under another id, recognised by what it is called and by what points at it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from showvc.document import SECTIONS, Show, to_tree
from showvc.document.pointers import join
from showvc.identity.names import marks, plain
from showvc.identity.references import references, renamed


@dataclass(frozen=True, slots=True, order=True)
class Rename:
    """One thing of a section that has another id."""

    section: str
    old: str
    new: str

    @property
    def paths(self) -> tuple[str, str]:
        """The thing's pointers under the old id and the new."""
        return join(self.section, self.old), join(self.section, self.new)


@dataclass(frozen=True, slots=True)
class Renames:
    """What changed its id for sure, and what may have."""

    sure: tuple[Rename, ...] = ()
    doubtful: tuple[Rename, ...] = ()


def renames(before: Show, after: Show) -> Renames:
    """The ids that changed. Sure is the one fit: the same name, label or hardware, and all references moved along.

    A number, a letter or an address that differs is another thing. Nothing is read where no id went and another came.
    """
    fits = [each for section in SECTIONS for each in _fits(before, after, section)]
    if not fits:
        return Renames()
    wanted, given = (
        Counter((each.section, each.old) for each in fits),
        Counter((each.section, each.new) for each in fits),
    )
    single = [each for each in fits if wanted[each.section, each.old] == given[each.section, each.new] == 1]
    sure = _moved_along(before, after, single)
    return Renames(tuple(sorted(sure)), tuple(sorted(each for each in fits if each not in sure)))


def under_new_ids(show: Show, pairs: Iterable[Rename]) -> Show:
    """The show with these things under their new ids, wherever they are named."""
    for pair in pairs:
        show = renamed(show, pair.section, pair.old, pair.new)
    return show


def _fits(before: Show, after: Show, section: str) -> Iterator[Rename]:
    old, new = before.section(section), after.section(section)
    gone, came = [name for name in old if name not in new], [name for name in new if name not in old]
    if not (gone and came):
        return
    for one in gone:
        for other in came:
            if _same_thing(one, old[one], other, new[other]):
                yield Rename(section, one, other)


def _same_thing(one: str, old: Any, other: str, new: Any) -> bool:
    """Whether two bodies are called alike, and nothing tells them apart."""
    if marks(one) and marks(other) and marks(one) != marks(other):
        return False
    if not any(getattr(body, field, None) for body in (old, new) for field in ("name", "label", "hardware")):
        return bool(old == new and to_tree(old))
    hardware = [getattr(body, "hardware", None) for body in (old, new)]
    if all(hardware):
        return hardware[0] == hardware[1]
    called = [(getattr(old, field, None) or "", getattr(new, field, None) or "") for field in ("name", "label")]
    if any(first and second and marks(first) != marks(second) for first, second in called):
        return False
    return any(plain(first) and plain(first) == plain(second) for first, second in called)


def _moved_along(before: Show, after: Show, pairs: list[Rename]) -> list[Rename]:
    """Those of the pairs to which everything points that pointed at the old id, as far as it is still there."""
    while pairs:
        moved = under_new_ids(before, pairs)
        wanted = {section: references(moved, section) for section in {pair.section for pair in pairs}}
        found = {section: references(after, section) for section in wanted}
        left = [
            pair
            for pair in pairs
            if not found[pair.section].get(pair.old)
            and all(
                steps in found[pair.section].get(pair.new, ()) or not _there(after, steps)
                for steps in wanted[pair.section].get(pair.new, ())
            )
        ]
        if left == pairs:
            break
        pairs = left
    return pairs


def _there(show: Show, steps: tuple[str, ...]) -> bool:
    """Whether the thing or the entry of the head that holds a place still stands."""
    if steps[0] in SECTIONS:
        return steps[1] in show.section(steps[0])
    return steps[1] in getattr(show.head, steps[0])
