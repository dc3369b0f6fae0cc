"""Things that look like one: both added, or one added and the other renamed into it; and making one of two."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import Any

from showvc.document import SECTIONS, Entries, Show, ShowError, Tree, differing, target_of, to_tree
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import join, parse
from showvc.document.redirecting import redirected
from showvc.identity.matching import SLIP, slips
from showvc.identity.names import marks, one_name, plain
from showvc.merging.conflict import Conflict, Settlement
from showvc.merging.sides import Sides, values_of
from showvc.merging.words import twin_message
from showvc.paths import free_number

Steps = tuple[str, ...]


def twins(sides: Sides[Show]) -> Iterator[Conflict]:
    """A question for each pair of things that look like one: both added, or one added and the other renamed into it."""
    for section in SECTIONS:
        there = sides.map(lambda show: show.section(section))  # noqa: B023 - used at once
        ours, theirs = _called_anew(there), _called_anew(there.turned())
        for name in ours:
            for other in theirs:
                if _made_apart(there, name, other) and _alike(there.mine[name], there.incoming[other]):
                    yield _twin(sides, (section, name), (section, other))
    yield from _twin_channels(sides)


def _made_apart(there: Sides[Entries[Any]], name: str, other: str) -> bool:
    """Whether mine's thing and incoming's are two, one of them at least new, and were not alike before."""
    one, two = there.before.get(name), there.before.get(other)
    if name == other or (one is not None and two is not None):
        return False
    if (one is None and name in there.incoming) or (two is None and other in there.mine):
        return False
    return not (one and _alike(one, there.incoming[other])) and not (two and _alike(there.mine[name], two))


def _called_anew(there: Sides[Entries[Any]]) -> list[str]:
    """What mine added, or calls otherwise than before."""
    edited = [name for name in differing(there.before, there.mine) if name in there.mine]
    return [name for name in edited if _calls(there.before.get(name)) != _calls(there.mine[name])]


def _calls(body: Any) -> tuple[Any, ...]:
    return tuple(getattr(body, field, None) for field in ("name", "label", "hardware", "circuit"))


def _twin_channels(sides: Sides[Show]) -> Iterator[Conflict]:
    """A channel to one target that each side put on a list, under two names: `cue` and `cue#2`."""
    for user in {*differing(sides.before.users, sides.mine.users)} & {
        *differing(sides.before.users, sides.incoming.users)
    }:
        if not all(user in show.users for show in (sides.mine, sides.incoming)):
            continue
        lists = sides.map(lambda show: show.users[user].channels if user in show.users else {})  # noqa: B023
        ours = [name for name in lists.mine if name not in lists.before and name not in lists.incoming]
        theirs = [name for name in lists.incoming if name not in lists.before and name not in lists.mine]
        for name in ours:
            for other in theirs:
                if target_of(name) == target_of(other):
                    yield _twin(sides, ("users", user, "channels", name), ("users", user, "channels", other))


def _twin(sides: Sides[Show], one: Steps, other: Steps) -> Conflict:
    paths = tuple(sorted((join(*one), join(*other))))
    return Conflict("twin", paths, values_of(sides, paths), twin_message(sides, one, other))


def kept_and_gone(conflict: Conflict, answer: Settlement) -> tuple[str, str] | None:
    """The place that is kept and the one that is made one with it; None where both stay, as two things."""
    if answer.how == "both":
        return None
    there = [path for path in conflict.paths if answer.values.get(path, ABSENT) is not ABSENT]
    if len(there) > 1:  # one was there before, and is called like the added one now
        there = [path for path, was in zip(conflict.paths, conflict.before, strict=True) if was is ABSENT]
    (keep,) = there[:1] or conflict.paths[:1]
    return keep, next(path for path in conflict.paths if path != keep)


def _alike(one: Any, other: Any) -> bool:
    """Whether two bodies look like one thing; a number, a letter or an address that differs makes them two."""
    addresses = [getattr(body, "hardware", None) for body in (one, other)]
    if all(addresses):
        return bool(addresses[0] == addresses[1])
    if getattr(one, "circuit", ""):
        return bool((one.circuit, one.target) == (other.circuit, other.target))
    called = [(getattr(one, field, None) or "", getattr(other, field, None) or "") for field in ("name", "label")]
    if any(first and second and marks(first) != marks(second) for first, second in called):
        return False
    return any(one_name(first, second) for first, second in called) or _nearly(*called[0])


def _nearly(one: str, other: str) -> bool:
    """Whether one name may be a slip of the pen for the other."""
    # The bound first: the exact score needs libraries that take longer to read than most merges.
    near = SequenceMatcher(None, plain(one), plain(other)).quick_ratio() * 100 >= SLIP
    return bool(one and other and near and slips([one], [other]))


def unify(show: Show, keep: str, other: str) -> Show:
    """Makes one thing of two: `other` goes, what pointed at it points at `keep`, which takes over fields it lacks, and
    of lists the entries it lacks: a channel under a free number where its own is taken.

    Both are pointers such as `/groups/house-radio`. ShowError where one is not there, or they are of two kinds.
    """
    kept, gone = parse(keep), parse(other)
    if len(kept) == len(gone) == 4 and kept[:3] == gone[:3] and kept[2] == "channels":
        return _one_channel(show, kept, gone)
    if len(kept) != 2 or len(gone) != 2 or kept[0] != gone[0] or kept[0] not in SECTIONS or kept == gone:
        raise ShowError(f"{keep} and {other} cannot be made one", "name two things of one kind: groups/a=groups/b")
    for section, name in (kept, gone):
        if name not in show.section(section):
            raise ShowError(f"there is no {join(section, name)}", "see: showvc compare")
    values: dict[Steps, Any] = {kept: _both(show, kept[0], kept[1], gone[1]), gone: ABSENT}
    return put(show, {**_redirected(show, kept[0], kept[1], gone[1]), **values})


def _one_channel(show: Show, keep: Steps, gone: Steps) -> Show:
    """One channel of two to the same target: keys that held the other hold the kept one."""
    keys: dict[Steps, Any] = {
        ("devices", name, "keys", key): keep[3]
        for name, unit in show.devices.items()
        if unit.user == keep[1]
        for key, held in unit.keys.items()
        if held == gone[3]
    }
    return put(show, {gone: ABSENT, **keys})


def _both(show: Show, section: str, keep: str, gone: str) -> Tree:
    """The kept thing with what it lacks of the other."""
    kept, other = (to_tree(show.section(section)[name]) for name in (keep, gone))
    both = {**other, **kept}
    for name, inner in kept.items():
        if isinstance(inner, dict) and name in other:
            both[name] = {**other[name], **inner}
    if section == "users":
        both["channels"] = _one_list(show, keep, gone, both.get("channels", {}))
    return both


def _one_list(show: Show, keep: str, gone: str, channels: Tree) -> Tree:
    """The channels of both under numbers of their own, without those to one another."""
    found: Tree = {}
    given: list[int] = []
    for name, entry in channels.items():
        if target_of(name) in (keep, gone):
            continue
        found[name] = entry
        if name not in show.users[keep].channels:
            number = _free(show, keep, given, entry["number"])
            given.append(number)
            found[name] = {**entry, "number": number}
    return found


def _free(show: Show, user: str, given: list[int], wanted: int) -> int:
    """The wanted number where it is free, else the lowest that is; on a full list the wanted one, for check to tell."""
    taken = {*given, *(entry.number for entry in show.users[user].channels.values())}
    return wanted if wanted not in taken else free_number(show, user, given) or wanted


def _redirected(show: Show, section: str, keep: str, gone: str) -> dict[Steps, Any]:
    """Every place that pointed at the one, pointing at the other; none of two users calls himself."""
    both = ((section, keep), (section, gone))
    found = {steps: value for steps, value in redirected(show, section, gone, keep).items() if steps[:2] not in both}
    for device, unit in show.devices.items() if section == "users" else ():
        if unit.user in (keep, gone):
            own = (key for key, channel in unit.keys.items() if target_of(channel) in (keep, gone))
            found |= {("devices", device, "keys", key): ABSENT for key in own}
    return found
