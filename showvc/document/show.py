"""The show: an immutable value that reads its bodies only when they are asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, Generic, TypeVar

from showvc.document.bodies import Body, Bridge, Carrier, Circuit, Device, Group, User
from showvc.document.head import BUILT_IN_KINDS, Accepted, Head, Kind, Limits, Line, Required
from showvc.document.names import target_of
from showvc.document.shapes import SECTIONS, Tree, to_tree
from showvc.document.values import HIGHEST

B = TypeVar("B", bound=Body)
Load = Callable[[tuple[str, ...]], Mapping[str, B]]


class Entries(Mapping[str, B], Generic[B]):
    """Ids to bodies, sorted by id. Immutable to its users; bodies may be loaded when first asked for.

    `tokens` gives, for bodies not loaded yet, a name of their content: equal tokens are equal bodies, so
    two shows are compared without reading what they share.
    """

    __slots__ = ("_bodies", "_ids", "_load", "_tokens")

    def __init__(
        self,
        bodies: Mapping[str, B] = MappingProxyType({}),
        tokens: Mapping[str, str] = MappingProxyType({}),
        load: Load[B] | None = None,
    ) -> None:
        self._bodies: dict[str, B] = dict(bodies)
        self._tokens = tokens
        self._load = load
        self._ids: tuple[str, ...] = tuple(sorted(self._bodies.keys() | tokens.keys()))

    def __getitem__(self, name: str) -> B:
        if name not in self._bodies:
            if name not in self._tokens:
                raise KeyError(name)
            self._fetch((name,))
        return self._bodies[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._ids)

    def __len__(self) -> int:
        return len(self._ids)

    def __contains__(self, name: object) -> bool:
        return name in self._bodies or name in self._tokens

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Entries):
            return NotImplemented
        return self._ids == other._ids and not differing(self, other)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"Entries({', '.join(self._ids)})"

    def items(self) -> Any:
        """All ids and bodies; what is missing is read in one go."""
        self.read(self._ids)
        return {name: self._bodies[name] for name in self._ids}.items()

    def values(self) -> Any:
        """All bodies in the order of their ids; what is missing is read in one go."""
        self.read(self._ids)
        return [self._bodies[name] for name in self._ids]

    def read(self, names: Iterable[str]) -> None:
        """Loads these bodies in one go; names that are not here are passed over."""
        missing = tuple(name for name in names if name not in self._bodies and name in self._tokens)
        if missing:
            self._fetch(missing)

    def _fetch(self, names: tuple[str, ...]) -> None:
        assert self._load is not None, "entries with tokens have a loader"
        self._bodies.update(self._load(names))

    def token(self, name: str) -> str | None:
        """The name of this body's content, where one is known."""
        return self._tokens.get(name)

    def with_changes(self, changes: Mapping[str, B | None]) -> Entries[B]:
        """The same entries with these bodies put in, or taken out where the new body is None."""
        bodies = {name: body for name, body in self._bodies.items() if name not in changes}
        bodies.update({name: body for name, body in changes.items() if body is not None})
        tokens = {name: token for name, token in self._tokens.items() if name not in changes}
        return Entries(bodies, tokens, self._load)


def differing(one: Entries[B], other: Entries[B]) -> tuple[str, ...]:
    """The ids whose bodies differ, or that only one of the two has. Reads only what may differ."""
    maybe = [name for name in {*one, *other} if not _surely_same(one, other, name)]
    one.read(maybe)
    other.read(maybe)
    return tuple(sorted(name for name in maybe if not (name in one and name in other and one[name] == other[name])))


def _surely_same(one: Entries[B], other: Entries[B], name: str) -> bool:
    first = one._bodies.get(name)
    if first is not None and first is other._bodies.get(name):
        return True
    token = one.token(name)
    return token is not None and token == other.token(name)


@dataclass(frozen=True, slots=True)
class Show:
    """The whole configuration of one production."""

    head: Head = field(default_factory=Head)
    groups: Entries[Group] = field(default_factory=Entries)
    users: Entries[User] = field(default_factory=Entries)
    devices: Entries[Device] = field(default_factory=Entries)
    bridges: Entries[Bridge] = field(default_factory=Entries)
    circuits: Entries[Circuit] = field(default_factory=Entries)
    carriers: Entries[Carrier] = field(default_factory=Entries)

    @property
    def title(self) -> str:
        return self.head.title

    @property
    def limits(self) -> Limits:
        return self.head.limits

    @property
    def required(self) -> Mapping[str, Required]:
        return self.head.required

    @property
    def accepted(self) -> Mapping[str, Accepted]:
        return self.head.accepted

    @property
    def lines(self) -> Mapping[str, Line]:
        """The targets that are there for everybody without a channel."""
        return self.head.lines

    @property
    def most_channels(self) -> int:
        """How many channels a list may have, and the highest number on it: what the show says, or the format."""
        limit = self.head.limits.channels
        return HIGHEST if limit is None else min(limit, HIGHEST)

    def section(self, name: str) -> Entries[Any]:
        """The things of one of the `SECTIONS`."""
        entries: Entries[Any] = getattr(self, name)
        return entries

    def with_section(self, name: str, changes: Mapping[str, Any]) -> Show:
        """The same show with these bodies of a section put in, or taken out where None."""
        changed = self.section(name).with_changes(changes)
        return replace(self, **{name: changed})  # type: ignore[arg-type]

    def kind(self, name: str) -> Kind | None:
        """A device's type: the show's own, else a built-in one."""
        return self.head.kinds.get(name) or BUILT_IN_KINDS.get(name)

    @property
    def critical_groups(self) -> frozenset[str]:
        """The groups that carry flying, automation, rigging, pyro or emergency stop calls."""
        return frozenset(name for name, group in self.groups.items() if group.critical)

    def target(self, name: str) -> Group | User | Line | None:
        """The group, user or line of this id."""
        return self.groups.get(name) or self.users.get(name) or self.lines.get(name)

    def label(self, name: str) -> str:
        """What a display shows for a target, and a circuit's name: its label, else its name, else its id."""
        found = self.target(name) or self.circuits.get(name)
        return (found and (getattr(found, "label", None) or found.name)) or name

    def key_label(self, user: User | None, channel: str) -> str:
        """What a display shows under a key that holds this channel of this user's list."""
        entry = user.channels.get(channel) if user else None
        return (entry and entry.label) or self.label(target_of(channel))

    def wearer(self, device: Device | None) -> User | None:
        """The user whom a device is assigned to, where there is one of that id."""
        return self.users.get(device.user) if device is not None and device.user is not None else None

    def tree(self) -> Tree:
        """The single document as plain values, defaults left out, in the order in which it is written."""
        sections = {
            name: {key: to_tree(body) for key, body in self.section(name).items()}
            for name in SECTIONS
            if len(self.section(name))
        }
        return {"format": self.head.format, **head_tree(self.head), **sections}


def head_tree(head: Head) -> Tree:
    """`show.yaml` as plain values; the format is always written."""
    return {"format": head.format, **to_tree(head)}


def show_from_tree(tree: Tree) -> Show:
    """A show from its single document. pydantic's ValidationError where it is none."""
    head = Head.model_validate({name: value for name, value in tree.items() if name not in SECTIONS})
    sections = {
        name: Entries({key: model.model_validate(body) for key, body in tree.get(name, {}).items()})
        for name, model in SECTIONS.items()
    }
    return Show(head, **sections)  # type: ignore[arg-type]
