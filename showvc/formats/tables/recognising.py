"""Which thing of the show each thing of a file is, by what both know of it; new ids for the rest."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from showvc.document import Show
from showvc.formats.tables.catalogue import Catalogue, Thing, address_of
from showvc.formats.tables.meanings import text_in
from showvc.formats.tables.naming import new_id
from showvc.formats.tables.plots import cells_of
from showvc.identity.matching import Answers, Doubt, Facts, match, slips
from showvc.identity.names import plain


@dataclass(slots=True)
class Recognised:
    """Which row was taken for which thing (section, row, id, how alike), and what a person has to say.

    `slips`: names that are new, each with the one that it is nearly written as.
    """

    matches: list[tuple[str, str, str, float]] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    slips: list[tuple[str, str]] = field(default_factory=list)


def recognise(catalogue: Catalogue, answers: Answers) -> Recognised:
    """Gives every thing its id: the one of the thing in the show that it is, or a new one."""
    work = _Recognising(catalogue, answers)
    current = catalogue.current
    taken: set[str] = {*current.groups, *current.users, *current.circuits, *current.lines}
    for section in ("groups", "users", "circuits"):
        work.name_section(section, taken)
    for section in ("devices", "bridges", "carriers"):
        work.name_section(section, {*current.section(section)})
    return work.made


class _Recognising:
    def __init__(self, catalogue: Catalogue, answers: Answers) -> None:
        self.catalogue, self.current, self.answers = catalogue, catalogue.current, answers
        self.made = Recognised()
        self.members: dict[int, set[str]] = {}

    def name_section(self, section: str, taken: set[str]) -> None:
        things = sorted(self.catalogue.things[section], key=lambda thing: thing.sort_key)
        facts = [self._facts(thing) for thing in things]
        known = known_facts(self.current, section)
        found = match(section, facts, known, self.answers)
        new: list[str] = []
        for place, thing in enumerate(things):
            if place in found.sure:
                thing.id = found.sure[place]
                self.made.matches.append((section, facts[place].said, thing.id, found.scores.get(place, 1.0)))
            elif place in found.doubts:
                self.made.doubts.append(found.doubts[place])
            else:
                new.append(facts[place].name)
        self.made.slips += slips(new, [fact.name for fact in (*known.values(), *facts)]) if known else []
        for thing in things:
            if not thing.id:
                thing.id = (
                    thing.given
                    if thing.given and thing.given not in taken
                    else new_id(thing.name or thing.label or thing.given or "", section, taken)
                )
                taken.add(thing.id)

    def _members(self) -> dict[int, set[str]]:
        """Who has each target on the list, by name."""
        if not self.members:
            for user in self.catalogue.things["users"]:
                name = plain(user.name)
                for entry in user.listed:
                    self.members.setdefault(id(entry.target), set()).add(name)
        return self.members

    def _facts(self, thing: Thing) -> Facts:
        content: set[str] = set()
        if thing.section == "groups":
            content = self._members().get(id(thing), set())
        elif thing.section == "users":
            content = {entry.target.id or plain(entry.target.name) for entry in thing.listed}
        elif thing.section == "devices":
            user = self.catalogue.user_of(thing)
            content = {
                f"{key.key} {key.target if isinstance(key.target, str) else key.target.id}" for key in thing.keys
            }
            content |= {user.id} if user else set()
        address = self._port(thing) if thing.section == "bridges" else address_of(thing.mark)
        label = thing.label or ("" if thing.rows else thing.name)
        return Facts(thing.name, label, thing.given, address, frozenset(content))

    def _port(self, bridge: Thing) -> str | None:
        """Unit and port of a bridge: where they are the same, the bridge is."""
        for table, row in bridge.rows:
            said = dict(cells_of(row, table.mapping))
            device = self.catalogue.find("devices", text_in(table.mapping, said, "device"))
            port = text_in(table.mapping, said, "port")
            if device is not None and port:
                return f"{device.id} {port}"
        return None


def known_facts(show: Show, section: str) -> dict[str, Facts]:
    """What the show knows of its things, in the terms in which rows are matched."""
    if section == "groups":
        members: dict[str, set[str]] = {}
        for name, user in show.users.items():
            called = plain(user.name or name)
            for channel in user.channels:
                members.setdefault(channel.partition("#")[0], set()).add(called)
        return {name: _thing_facts(body, name, members.get(name, set())) for name, body in show.groups.items()}
    if section == "users":
        return {
            name: _thing_facts(body, name, {channel.partition("#")[0] for channel in body.channels})
            for name, body in show.users.items()
        }
    if section == "devices":
        return {
            name: replace(
                _thing_facts(
                    body, name, {*(f"{key} {to}" for key, to in body.keys.items()), *filter(None, [body.user])}
                ),
                hardware=body.hardware,
            )
            for name, body in show.devices.items()
        }
    if section != "bridges":
        return {name: _thing_facts(body, name, set()) for name, body in show.section(section).items()}
    found = {}
    for name, body in show.bridges.items():
        port = f"{body.device} {body.port}"
        found[name] = Facts(show.label(body.circuit) if body.circuit else port, "", name, port)
    return found


def _thing_facts(body: Any, name: str, content: set[str]) -> Facts:
    return Facts(body.name or name, getattr(body, "label", None) or "", name, None, frozenset(content))
