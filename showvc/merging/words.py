"""Conflicts in sentences for a tired engineer."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any

from showvc.changes import edits_at
from showvc.changes.words import place_words, thing_name, value_words
from showvc.document import DOCUMENT, SECTIONS, Show, target_of
from showvc.document.editing import ABSENT
from showvc.document.lining import printable
from showvc.document.pointers import parse
from showvc.merging.conflict import RENAMED, ConflictKind
from showvc.merging.sides import Sides, values_at

Steps = tuple[str, ...]
_MOST_NAMED = 4
_LABELLED = ("user", "target", "end", "over", "circuit")
"""What can be referred to and is called by its label or name."""


def shown(value: Any) -> str:
    """A side's value in a few words."""
    return "nothing" if value is ABSENT else value_words(value)


# --- conflicts of one place ---


def leaf_message(sides: Sides[Show], kind: ConflictKind, steps: Steps, values: Sides[Any]) -> str:
    return printable(_leaf_message(sides, kind, steps, values))


def _leaf_message(sides: Sides[Show], kind: ConflictKind, steps: Steps, values: Sides[Any]) -> str:
    place = place_words(_show_with(sides, steps), steps)
    if kind == "removed-and-changed":
        return f"{place}: {_removed_and_changed(sides, steps, values.mine)}"
    if steps == ("notes",):
        return f"{place}: both rewrote the same lines; {_lines(values)}"
    one, other = _value(sides.mine, steps, values.mine), _value(sides.incoming, steps, values.incoming)
    old = values.before
    was = "there was nothing before" if old is ABSENT else f"it was {_value(sides.before, steps, old)}"
    return f"{place}: mine says {one}, incoming says {other}; {was}"


def _removed_and_changed(sides: Sides[Show], steps: Steps, mine: Any) -> str:
    remover, changer, show = ("mine", "incoming", sides.incoming)
    if mine is not ABSENT:
        remover, changer, show = ("incoming", "mine", sides.mine)
    return f"{remover} removed it, {changer} changed it ({_listed(_edit_texts(sides.before, show, steps), '; ')})"


def _edit_texts(before: Show, after: Show, steps: Steps) -> list[str]:
    """The edits below a place in sentences, without the name of the thing that they are about."""
    names = [thing_name(show, *steps[:2]) for show in (before, after)] if steps[0] in SECTIONS else []
    texts = [change.text for change in edits_at(before, after, steps)]
    for name in names:
        texts = [text.removeprefix(f"{name}: ") for text in texts]
    return texts


def _lines(texts: Sides[str]) -> str:
    mine, incoming = (_new_lines(texts.before, text) for text in texts.apart)
    return f"mine has {mine}, incoming has {incoming}"


def _new_lines(before: str, after: str) -> str:
    """The first lines that differ from before, quoted."""
    old, new = before.splitlines(), after.splitlines()
    blocks = SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    lines = [line for tag, _, _, start, end in blocks if tag != "equal" for line in new[start:end] if line.strip()]
    return _listed([f"'{value_words(line.strip())}'" for line in lines], ", ") or "lines taken out"


def _value(show: Show, steps: Steps, value: Any) -> str:
    """A value as its side's displays show it."""
    if value is ABSENT:
        return "nothing"
    if "extra" in steps[:-1]:
        return value_words(json.dumps(value, ensure_ascii=False))
    if isinstance(value, str) and _is_key(steps):
        return _key_label(show, steps[1], value)
    shape = DOCUMENT.along(steps)
    if isinstance(value, str) and shape is not None and shape.prose:
        return f"'{value_words(value)}'"
    labelled = shape is not None and shape.kind == "text" and shape.to in _LABELLED
    return show.label(value) if isinstance(value, str) and labelled else value_words(value)


def _is_key(steps: Steps) -> bool:
    return len(steps) == 4 and steps[0] == "devices" and steps[2] == "keys"


def _key_label(show: Show, device: str, channel: str) -> str:
    body = show.devices.get(device)
    user = show.users.get(body.user) if body is not None and body.user else None
    return show.key_label(user, channel)


def _show_with(sides: Sides[Show], steps: Steps) -> Show:
    """The show that knows the names at this place: the one from before if it can."""
    for show in (sides.before, sides.mine, sides.incoming):
        if len(steps) < 2 or steps[0] not in SECTIONS or steps[1] in show.section(steps[0]):
            return show
    return sides.before


# --- conflicts of the combination ---


def combination_message(sides: Sides[Show], findings: Iterable[str], pointers: Iterable[str]) -> str:
    """What is wrong in the merged show, and which edits of the two sides make it."""
    done = [edit_words(sides, pointer) for pointer in pointers]
    mine, incoming = (_listed([words for words in side if words], " and ") for side in zip(*done, strict=True))
    return printable(
        f"{_listed(findings, '; ')}. Mine {mine or 'left this alone'}; incoming {incoming or 'left this alone'}"
    )


def group_message(sides: Sides[Show], kind: ConflictKind, pointers: Sequence[str], facts: Sequence[str] = ()) -> str:
    """That edits which are one edit clash, and what each side did."""
    what = {"double-booked": "two things claim one place", "twin": "one or two?"}.get(kind, "changed on both sides")
    if any(fact.startswith("crossed-") for fact in facts):
        what = "settled differently on the two sides"
    if RENAMED in facts and len(pointers) == 1:
        gone = values_at(sides, pointers[0]).mine is ABSENT
        gave, removed = ("incoming", "mine") if gone else ("mine", "incoming")
        return printable(f"{_where(sides, pointers)}: {gave} gave it another id, {removed} removed it")
    said = combination_message(sides, [f"{_where(sides, pointers)}: {what}"], pointers)
    return said if len(pointers) == 1 else f"{said}. These belong together"


def twin_message(sides: Sides[Show], one: Steps, other: Steps) -> str:
    """That two things look like one."""
    if len(one) > 2:
        user = thing_name(sides.mine, *one[:2])
        shown_as = sides.mine.label(target_of(one[3]))
        numbers = [
            show.users[steps[1]].channels[steps[3]].number
            for show, steps in ((sides.mine, one), (sides.incoming, other))
        ]
        said = f"{user}: both sides put {shown_as} on the list, mine on {numbers[0]}, incoming on {numbers[1]}"
    else:
        names = thing_name(sides.mine, *one), thing_name(sides.incoming, *other)
        said = f"{names[0]} of mine ({one[1]}) and {names[1]} of incoming ({other[1]}) look like the same thing"
    return printable(f"{said}: one or two?")


def _where(sides: Sides[Show], pointers: Sequence[str]) -> str:
    """The things that places belong to, each with its fields: `device desk-01 (Prompt desk), key A1, key A2`."""
    fields: dict[str, list[str]] = {}
    for pointer in pointers:
        steps = parse(pointer)
        show = _show_with(sides, steps)
        thing = thing_name(show, *steps[:2]) if steps[0] in SECTIONS else ""
        words = place_words(show, steps).removeprefix(thing).removeprefix(", ")
        fields.setdefault(thing, []).append(words.removesuffix(", number"))
    return "; ".join(", ".join(filter(None, [thing, *dict.fromkeys(words)])) for thing, words in fields.items())


def _listed(words: Iterable[str], between: str) -> str:
    said = list(dict.fromkeys(words))
    more = len(said) - _MOST_NAMED
    return between.join([*said[:_MOST_NAMED], *([f"{more} more"] if more > 0 else [])])


def edit_words(sides: Sides[Show], pointer: str) -> tuple[str, str]:
    """What mine and incoming did at this place, in a few words each."""
    steps = parse(pointer)
    values = values_at(sides, pointer)
    one, other = _Deed(sides.before, sides.mine, steps), _Deed(sides.before, sides.incoming, steps)
    return one.words(values.before, values.mine), other.words(values.before, values.incoming)


class _Deed:
    """What one side did at one place: `moved LX to channel 5 of SM`."""

    def __init__(self, before: Show, after: Show, steps: Steps) -> None:
        self.before, self.after, self.steps = before, after, steps
        self.show = after
        if steps[0] in SECTIONS and len(steps) > 1 and steps[1] not in after.section(steps[0]):
            self.show = before

    def words(self, before: Any, after: Any) -> str:
        if before == after:
            return ""
        section, rest = self.steps[0], self.steps[2:]
        if section not in SECTIONS:
            return self._head(before, after)
        if not rest or self.show is not self.after:
            return self._thing(before, after)
        if rest[0] == "channels" and len(rest) > 1:
            return self._channel(rest, before, after)
        if _is_key(self.steps):
            return self._key(after)
        return self._field(rest, after)

    @property
    def name(self) -> str:
        section, name = self.steps[:2]
        return self.show.label(name) if section == "users" else thing_name(self.show, section, name)

    def _thing(self, before: Any, after: Any) -> str:
        named = thing_name(self.show, *self.steps[:2])
        if self.show is not self.after or after is ABSENT:
            return f"removed {named}"
        if before is ABSENT:
            return f"added {named}"
        return f"changed {named} ({_listed(_edit_texts(self.before, self.after, self.steps), '; ')})"

    def _head(self, before: Any, after: Any) -> str:
        place = place_words(self.after, self.steps)
        if after is ABSENT:
            return f"removed {place}"
        if isinstance(after, Mapping):
            return f"added {place}" if before is ABSENT else f"changed {place}"
        the = "the " if self.steps[0] == "limits" else ""
        return f"set {the}{place} to {_value(self.after, self.steps, after)}"

    def _channel(self, rest: Steps, before: Any, after: Any) -> str:
        user = self.after.users[self.steps[1]]
        known = user if rest[1] in user.channels else self.before.users.get(self.steps[1], user)
        shown_as = (self.after if self.after.target(target_of(rest[1])) else self.before).key_label(known, rest[1])
        if rest[2:] == ("number",):
            return f"moved {shown_as} to channel {after} of {self.name}"
        if len(rest) > 2:
            return f"set {' '.join(rest[2:])} of {shown_as} on the list of {self.name} to {shown(after)}"
        if after is ABSENT:
            return f"took {shown_as} off the list of {self.name}"
        verb = "put" if before is ABSENT else "changed"
        return f"{verb} {shown_as} on channel {after['number']} of {self.name}"

    def _key(self, after: Any) -> str:
        if after is ABSENT:
            return f"cleared key {self.steps[3]} of {self.name}"
        return f"put {_value(self.after, self.steps, after)} under key {self.steps[3]} of {self.name}"

    def _field(self, rest: Steps, after: Any) -> str:
        value = _value(self.after, self.steps, after)
        said = {
            ("devices", "user"): f"gave {self.name} to {value}",
            ("devices", "kind"): f"changed {self.name} to kind {value}",
            ("devices", "hardware"): f"gave {self.name} the address {value}",
            ("bridges", "target"): f"tied {self.name} to {value}",
            ("bridges", "port"): f"moved {self.name} to port {value}",
            ("bridges", "device"): f"moved {self.name} to device {value}",
        }
        if (self.steps[0], rest[0]) == ("devices", "user") and after is ABSENT:
            return f"took {self.name} off its user"
        return said.get((self.steps[0], rest[0]), f"set {' '.join(rest)} of {self.name} to {value}")
