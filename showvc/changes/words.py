"""Changes in the trade's words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from showvc.changes.change import Change, Edit
from showvc.document import COLUMNS, DOCUMENT, PLOTS, SECTIONS, Shape, Show
from showvc.document.bodies import Loan
from showvc.document.cells import ALTERNATIVE
from showvc.document.lining import printable
from showvc.document.names import target_of
from showvc.document.pointers import parse


def noun(section: str) -> str:
    """What one entry of a section, or of a map of the show itself, is called."""
    return DOCUMENT.fields[section].words


def thing_name(show: Show, section: str, name: str) -> str:
    """How the trade calls a thing: `group FLY (Fly Rail)`, `device desk-01 (Prompt desk)`."""
    body = show.section(section).get(name)
    if body is None:
        return f"{noun(section)} {name}"
    shown = show.label(name) if section in ("groups", "users") else name
    circuit = getattr(body, "circuit", None)
    long = show.label(circuit) if circuit else getattr(body, "name", "")
    return f"{noun(section)} {shown}" + (f" ({long})" if long and long != shown else "")


def step_words(steps: Sequence[str]) -> list[str]:
    """Each step of a place in words: what a field is called, and names as they are."""
    shape: Shape | None = DOCUMENT
    said: list[str] = []
    for step in steps:
        inner = shape.at(step) if shape else None
        said.append(inner.words if inner and shape and shape.kind == "record" else step)
        shape = inner
    return said


def value_words(value: Any, most: int = 60) -> str:
    """A value as it stands in a sentence; a text longer than `most` characters is cut."""
    if value is None or value in ("", [], {}):
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(_member(inner) for inner in value)
    if isinstance(value, Mapping):
        return ", ".join(f"{printable(name)} {value_words(inner, most)}" for name, inner in value.items())
    text = printable(str(value))
    return text if len(text) <= most else text[: most - 3] + "…"


def _member(value: Any) -> str:
    return (
        ALTERNATIVE.join(printable(str(inner)) for inner in value) if isinstance(value, list) else printable(str(value))
    )


class Voice:
    """Knows both shows, so that a sentence can name things by what is on their displays."""

    def __init__(self, before: Show, after: Show) -> None:
        self.before, self.after = before, after

    def spoken(self, path: str, kind: Edit, before: Any, after: Any) -> Change:
        return Change(path, kind, before, after, printable(self.sentence(parse(path), kind, before, after)))

    def sentence(self, steps: tuple[str, ...], kind: Edit, before: Any, after: Any) -> str:
        if is_kept_layout(steps):
            return _layout_words(steps, kind, after if kind == "added" else before)
        if steps[0] not in SECTIONS:
            return f"the show's {place_words(self.after, steps)} {_became(kind, before, after)}"
        if len(steps) == 2:
            show = self.after if kind == "added" else self.before
            return f"{thing_name(show, *steps)} is {'new' if kind == 'added' else 'gone'}"
        if steps[2] == "channels":
            return f"{self.name(steps)}: {self.channels(steps, kind, before, after)}"
        if steps[2] == "keys":
            return f"{self.name(steps)}: {self.keys(steps, kind, before, after)}"
        named = thing_name(self.before, *steps[:2]) if kind == "renamed" else self.name(steps)
        return f"{named}: {self.field(steps, kind, before, after)}"

    def field(self, steps: tuple[str, ...], kind: Edit, before: Any, after: Any) -> str:
        if steps[2:] == ("user",):
            now, was = (self.wearer(show, name) for show, name in ((self.after, after), (self.before, before)))
            return f"worn by {now} now, was worn by {was}"
        if steps[2:] == ("target",):
            return f"tied to {self.after.label(after)} now, was tied to {self.before.label(before)}"
        if steps[2:] in _LOAN:
            return loan_words(*(self.loan(show, steps[1]) for show in (self.before, self.after)))
        now, was = self.named(self.after, steps, after), self.named(self.before, steps, before)
        return f"{' '.join(step_words(steps)[2:])} {_became(kind, was, now)}"

    @staticmethod
    def named(show: Show, steps: tuple[str, ...], value: Any) -> Any:
        """A value that refers to a target or a circuit, by what that is called."""
        shape = DOCUMENT.along(steps)
        refers = shape is not None and shape.kind == "text" and shape.to in ("circuit", "over", "end")
        return show.label(value) if refers and isinstance(value, str) else value

    @staticmethod
    def loan(show: Show, name: str) -> Loan | None:
        return show.devices[name].lent if name in show.devices else None

    @staticmethod
    def wearer(show: Show, name: str | None) -> str:
        return show.label(name) if name else "nobody"

    def name(self, steps: tuple[str, ...]) -> str:
        show = self.after if steps[1] in self.after.section(steps[0]) else self.before
        return thing_name(show, steps[0], steps[1])

    def label(self, steps: tuple[str, ...], channel: str) -> str:
        """What stands for a channel of this user, or under a key of this device."""
        for show in (self.after, self.before):
            body = show.section(steps[0]).get(steps[1])
            user = body if steps[0] == "users" else show.users.get(getattr(body, "user", None) or "")
            if (user is not None and channel in user.channels) or show.target(target_of(channel)) is not None:
                return show.key_label(user, channel)
        return self.after.label(target_of(channel))

    def channels(self, steps: tuple[str, ...], kind: Edit, before: Any, after: Any) -> str:
        if len(steps) == 3:
            one, other = (self.label(steps, name) for name in after)
            first, second = before.values()
            return f"{one} and {other} swapped channels {first} and {second}"
        shown = self.label(steps, steps[3])
        if kind == "moved":
            return f"{self.number(steps, shown, after)} (moved from {before})"
        if len(steps) > 4:
            return f"{shown}: {' '.join(step_words(steps)[4:])} {_became(kind, before, after)}"
        if kind == "removed":
            taker = occupant(self.after, steps[1], before["number"])
            now = f" (it is {self.label(steps, taker)} now)" if taker else ""
            return f"channel {before['number']}, {shown}, is gone{now}"
        ways = value_words({name: value for name, value in after.items() if name != "number"})
        return self.number(steps, shown, after["number"]) + ("" if ways == "nothing" else f": {ways}")

    def number(self, steps: tuple[str, ...], shown: str, number: int) -> str:
        others = [name for name in occupants(self.after, steps[1], number) if name != steps[3]]
        if others:
            both = [shown, *(self.label(steps, name) for name in others)]
            return f"channel {number} is now {' and '.join(both)} at once"
        former = occupant(self.before, steps[1], number)
        was = f", was {self.label(steps, former)}" if former and former != steps[3] else ""
        return f"channel {number} is now {shown}{was}"

    def keys(self, steps: tuple[str, ...], kind: Edit, before: Any, after: Any) -> str:
        if kind == "swapped":
            now = " and ".join(self.label(steps, channel) for channel in after.values())
            return f"keys {' and '.join(after)} swapped: now {now}"
        if kind == "moved":
            ((old, _),), ((new, channel),) = before.items(), after.items()
            return f"{self.label(steps, channel)} moved from key {old} to {new}"
        was = f", was {self.label(steps, before)}" if before else ""
        return f"key {steps[3]} is now {self.label(steps, after) if after else 'empty'}{was}"


_LOAN = (("lent",), ("lent", "to"), ("lent", "until"))


def loan_words(before: Loan | None, after: Loan | None) -> str:
    """To whom a device is lent now, or that it is back."""
    if after is None:
        return f"back from {before.to} (was lent {_until(before)})" if before else "not lent"
    if before is None:
        return f"lent to {after.to} {_until(after) if after.until else '(no date)'}"
    was = _until(before) if before.to == after.to else f"to {before.to} {_until(before)}"
    return f"lent to {after.to} {_until(after)} now (was {was})"


def _until(loan: Loan) -> str:
    return f"until {loan.until}" if loan.until else "with no date"


_KEPT: Mapping[tuple[str, ...], str] = {("extra", PLOTS): "plot", ("extra", COLUMNS): "sheet"}


def is_kept_layout(steps: tuple[str, ...]) -> bool:
    """Whether a place keeps where the columns of a plot or sheet stand, for the export: nothing that is heard."""
    return steps[:2] in _KEPT


def _layout_words(steps: tuple[str, ...], kind: Edit, value: Any) -> str:
    names = [*value] if len(steps) == 2 and isinstance(value, Mapping) else list(steps[2:3])
    return _columns_words(steps[:2], kind, names)


def _columns_words(place: tuple[str, ...], kind: Edit, names: Sequence[str]) -> str:
    one = len(names) == 1
    what = f"the {_KEPT[place]}{'' if one else 's'} {', '.join(names)}"
    ends = {"added": f"are kept, for {'its' if one else 'their'} export", "removed": "are no longer kept"}
    return f"the columns of {what} {ends.get(kind, 'stand otherwise now')}"


def layouts_words(changes: Sequence[Change]) -> str | None:
    """One sentence for the columns of several plots that were all kept, let go, or changed; None for other changes."""
    places = [parse(change.path) for change in changes]
    kinds = {(steps[:2], change.change) for steps, change in zip(places, changes, strict=True)}
    if len(kinds) != 1 or not all(len(steps) == 3 and is_kept_layout(steps) for steps in places):
        return None
    ((place, kind),) = kinds
    return printable(_columns_words(place, kind, [steps[2] for steps in places]))


def occupant(show: Show, user: str, number: int) -> str | None:
    """The channel that has this number on a user's list; the first, where several have."""
    return next(iter(occupants(show, user, number)), None)


def occupants(show: Show, user: str, number: int) -> list[str]:
    """Every channel that has this number on a user's list."""
    body = show.users.get(user)
    return [name for name, entry in body.channels.items() if entry.number == number] if body else []


def _became(kind: Edit, before: Any, after: Any) -> str:
    if isinstance(before, list) and isinstance(after, list):
        new = [f"+{_member(member)}" for member in after if member not in before]
        return " ".join([*new, *(f"−{_member(member)}" for member in before if member not in after)])
    if (isinstance(after, str) and "\n" in after) or (isinstance(before, str) and "\n" in before):
        return "were edited"
    if kind == "added":
        return f"is new: {value_words(after)}"
    if kind == "removed":
        return f"is gone, was {value_words(before)}"
    return f"is now {value_words(after)}, was {value_words(before)}"


def place_words(show: Show, steps: tuple[str, ...]) -> str:
    """Where a pointer leads, in words: `user SM (Stage Manager), channel FLY, talk`."""
    said = step_words(steps)
    if steps[0] not in SECTIONS:
        return " ".join(steps) if len(steps) == 1 or steps[0] == "extra" else ", ".join([" ".join(said[:2]), *said[2:]])
    words = [thing_name(show, steps[0], steps[1])] if len(steps) > 1 else []
    rest = steps[2:]
    if rest[:1] == ("channels",) and len(rest) > 1:
        user = show.users.get(steps[1])
        words.append(f"channel {show.key_label(user, rest[1])}")
        rest = rest[2:]
    elif rest[:1] == ("keys",) and len(rest) > 1:
        words.append(f"key {rest[1]}")
        rest = rest[2:]
    return ", ".join([*words, *said[len(steps) - len(rest) :]])
