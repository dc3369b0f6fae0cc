"""Two shows to the changes between them, in the trade's terms."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

from showvc.changes.change import Change, Comparison, Edit, Subject
from showvc.changes.words import Voice, is_kept_layout, thing_name
from showvc.document import SECTIONS, Body, Head, Show, differing, same, shape_of, slim, to_tree, whole_tree
from showvc.document.lining import printable
from showvc.document.pointers import join
from showvc.document.shapes import Shape
from showvc.identity.renames import Rename, renames, under_new_ids

_NAMES = ("name", "label", "title")


def edits(before: Show, after: Show) -> Comparison:
    """Every edit from `before` to `after`, an id that changed as one. Only bodies that may differ are read."""
    before, pairs = aligned(before, after)
    voice = Voice(before, after)
    changes = [*(_renamed(after, pair) for pair in pairs), *_head(before.head, after.head, voice)]
    subjects = {pair.paths[1]: _subject(before, after, pair.section, pair.new) for pair in pairs}
    for section in SECTIONS:
        for name in differing(before.section(section), after.section(section)):
            changes += _thing(before, after, section, name, voice)
            subjects[join(section, name)] = _subject(before, after, section, name)
    return Comparison(tuple(changes), subjects)


def aligned(before: Show, after: Show) -> tuple[Show, tuple[Rename, ...]]:
    """The show from before with everything under the ids of `after` where these surely changed, and what changed."""
    pairs = renames(before, after).sure
    return under_new_ids(before, pairs), pairs


def _renamed(after: Show, pair: Rename) -> Change:
    named = thing_name(after, pair.section, pair.new)
    text = printable(f"{named}: id is now {pair.new}, was {pair.old}")
    return Change(pair.paths[1], "renamed", pair.old, pair.new, text)


def edits_at(before: Show, after: Show, steps: tuple[str, ...]) -> tuple[Change, ...]:
    """The edits at and below one place."""
    voice = Voice(before, after)
    if steps[0] not in SECTIONS:
        found = list(_head(before.head, after.head, voice))
    elif len(steps) > 1 and any(steps[1] in show.section(steps[0]) for show in (before, after)):
        found = list(_thing(before, after, steps[0], steps[1], voice))
    else:
        found = []
    place = join(*steps)
    return tuple(change for change in found if f"{change.path}/".startswith(f"{place}/"))


def _subject(before: Show, after: Show, section: str, name: str) -> Subject:
    show = after if name in after.section(section) else before
    body = show.section(section)[name]
    owner = body if section == "users" else show.users.get(getattr(body, "user", None) or "")
    return Subject(section, name, thing_name(show, section, name), (owner and owner.department) or "")


def _head(before: Head, after: Head, voice: Voice) -> Iterator[Change]:
    if before != after:
        yield from _Walk(voice).record(whole_tree(before), whole_tree(after), shape_of(Head), ())


def _thing(before: Show, after: Show, section: str, name: str, voice: Voice) -> Iterator[Change]:
    old: Body | None = before.section(section).get(name)
    new: Body | None = after.section(section).get(name)
    if old is None or new is None:
        values = (old and to_tree(old), new and to_tree(new))
        yield voice.spoken(join(section, name), "added" if old is None else "removed", *values)
    else:
        yield from _Walk(voice).record(whole_tree(old), whole_tree(new), shape_of(type(old)), (section, name))


class _Walk:
    """Goes through two whole trees of one shape and yields what differs."""

    def __init__(self, voice: Voice) -> None:
        self.voice = voice

    def value(self, old: Any, new: Any, shape: Shape, steps: tuple[str, ...]) -> Iterator[Change]:
        if same(old, new):
            return
        if shape.kind == "record" and old is not None and new is not None:
            yield from self.record(old, new, shape, steps)
        elif shape.kind == "map":
            yield from self.map(old, new, shape, steps)
        elif shape.kind == "free":
            yield from self.free(old, new, steps)
        else:
            yield self.leaf(old, new, shape, steps)

    def record(
        self, old: Mapping[str, Any], new: Mapping[str, Any], shape: Shape, steps: tuple[str, ...]
    ) -> Iterator[Change]:
        for name, inner in shape.fields.items():
            yield from self.value(old[name], new[name], inner, (*steps, name))

    def map(
        self, old: Mapping[str, Any], new: Mapping[str, Any], shape: Shape, steps: tuple[str, ...]
    ) -> Iterator[Change]:
        taken: set[str] = set()
        if steps[-1] == "channels":
            yield from self.traded_channels(old, new, steps, taken)
        elif steps[-1] == "keys" and steps[0] == "devices":
            yield from self.traded_keys(old, new, steps, taken)
        for name in sorted({*old, *new}, key=lambda name: shape.order(name, new.get(name, old.get(name)))):
            yield from self.entry(name, old, new, shape, steps, name in taken)

    def entry(
        self,
        name: str,
        old: Mapping[str, Any],
        new: Mapping[str, Any],
        shape: Shape,
        steps: tuple[str, ...],
        traded: bool,
    ) -> Iterator[Change]:
        assert shape.item is not None, "a map has items"
        path = (*steps, name)
        if name in old and name in new:
            before = {**old[name], "number": new[name]["number"]} if traded and steps[-1] == "channels" else old[name]
            if not (traded and steps[-1] == "keys"):
                yield from self.value(before, new[name], shape.item, path)
        elif not traded:
            values = [_written(side[name], shape.item) if name in side else None for side in (old, new)]
            yield self.voice.spoken(join(*path), "added" if name in new else "removed", *values)

    def traded_channels(
        self, old: Mapping[str, Any], new: Mapping[str, Any], steps: tuple[str, ...], taken: set[str]
    ) -> Iterator[Change]:
        """Two channels of a list that traded their numbers."""
        moved = [name for name in old if name in new and old[name]["number"] != new[name]["number"]]
        for one, other in combinations(sorted(moved), 2):
            numbers = old[one]["number"], old[other]["number"]
            if numbers == (new[other]["number"], new[one]["number"]) and not taken & {one, other}:
                taken |= {one, other}
                before, after = {one: numbers[0], other: numbers[1]}, {one: numbers[1], other: numbers[0]}
                yield self.voice.spoken(join(*steps), "swapped", before, after)

    def traded_keys(
        self, old: Mapping[str, Any], new: Mapping[str, Any], steps: tuple[str, ...], taken: set[str]
    ) -> Iterator[Change]:
        """Two keys of a device that traded what they hold, and a channel that went to an empty key."""
        changed = [key for key in sorted({*old, *new}) if old.get(key) != new.get(key)]
        for one, other in combinations(changed, 2):
            if taken & {one, other} or (old.get(one), old.get(other)) != (new.get(other), new.get(one)):
                continue
            taken |= {one, other}
            before = {key: old[key] for key in (one, other) if key in old}
            after = {key: new[key] for key in (one, other) if key in new}
            yield self.voice.spoken(join(*steps), "swapped" if len(before) == 2 else "moved", before, after)

    def leaf(self, old: Any, new: Any, shape: Shape, steps: tuple[str, ...]) -> Change:
        return self.voice.spoken(join(*steps), _kind(old, new, shape, steps), old, new)

    def free(self, old: Any, new: Any, steps: tuple[str, ...]) -> Iterator[Change]:
        """Values that the model does not know: maps name by name, what stands in them told apart by deepdiff."""
        if len(steps) == 3 and is_kept_layout(steps):
            yield self.voice.spoken(join(*steps), "changed", old, new)
        elif isinstance(old, Mapping) and isinstance(new, Mapping):
            for name in sorted({*old, *new}):
                place = (*steps, name)
                if name not in old or name not in new:
                    yield self.voice.spoken(
                        join(*place), "added" if name in new else "removed", old.get(name), new.get(name)
                    )
                elif not same(old[name], new[name]):
                    yield from self.free(old[name], new[name], place)
        else:
            # deepdiff takes true for 1 within a list; such a list is told whole.
            for inner, kind, before, after in list(_levels(old, new)) or [([], "changed", old, new)]:
                yield self.voice.spoken(join(*steps, *inner), kind, before, after)


def _levels(old: Any, new: Any) -> Iterator[tuple[list[str], Edit, Any, Any]]:
    from deepdiff import DeepDiff

    found = DeepDiff(old, new, view="tree", ignore_private_variables=False, ignore_numeric_type_changes=False)
    for level in sorted((level for group in found.values() for level in group), key=lambda level: level.path()):
        inner = [str(step) for step in level.path(output_format="list")]
        before, after = (None if _absent(side) else side for side in (level.t1, level.t2))
        yield inner, "added" if _absent(level.t1) else "removed" if _absent(level.t2) else "changed", before, after


def _written(value: Any, shape: Shape) -> Any:
    return slim(value, shape) if shape.kind == "record" else value


def _absent(value: Any) -> bool:
    return type(value).__name__ == "NotPresent"


def _kind(old: Any, new: Any, shape: Shape, steps: tuple[str, ...]) -> Edit:
    if steps[-1] in _NAMES and (len(steps) == 3 or steps == ("title",)):
        return "renamed"
    if steps[-1] == "number":
        return "moved"
    if old is None:
        return "added"
    return "removed" if new is None else "changed"
