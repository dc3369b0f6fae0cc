"""The ends of required paths and of paths apart: who is meant by a user, a group, a circuit, a line, a department, all.

Where the rules leave room:

- A bridge puts its circuit on a group or line whether or not it is live; one that is a standby only possibly does.
- What a port talks on is on its list, also where it is not open and so nothing is ever said there.
- What is supposed to be out is still a member: it is on the list.
- A port is no position and never a member. Nor is an id that nothing has: such an end is empty, and `reason` says so.
- Where one id is two things, the end is a user, then a group, then a circuit, then a line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from showvc.document import Bridge
from showvc.document.values import DEPARTMENT, EVERYONE
from showvc.paths.facts import Case, Facts, brings_in, carries_out
from showvc.paths.lists import Lists
from showvc.paths.model import Paths
from showvc.paths.pairs import slots_of

Role = Literal["from", "to"]
"""Whether those are meant who talk, or those who hear."""


@dataclass(frozen=True, slots=True)
class End:
    """One end of a path. `members` are positions, by id; `several` unless it is a user or a circuit.

    `unknown` are circuits on the end of which the document does not say whether somebody hears there.
    `reason` tells why nobody is meant.
    """

    name: str
    members: tuple[str, ...]
    several: bool
    unknown: tuple[str, ...] = ()
    reason: str | None = None


def end_of(paths: Paths, name: str, role: Role, case: Case) -> End:
    """Who is meant by one end. `case` says what is supposed of circuits of which something is not written."""
    lists, facts = paths.lists, paths.facts
    if name == EVERYONE or name.startswith(DEPARTMENT):
        return _of_many(paths, name)
    if name in lists.ports:
        return End(name, (), False, reason=f"{name} is a port, and a port is no position")
    if name in lists.parts:
        return End(name, (name,), False)
    if name in facts.groups or (name in facts.lines and name not in facts.circuits):
        return _of_target(paths, name, role, case)
    if name in facts.circuits:
        return End(name, (name,), False)
    return End(name, (), False, reason=no_such(name))


def no_such(name: str) -> str:
    """Why an end is empty that is an id which nothing has."""
    return f"there is no user, group, circuit or line {name}"


def _of_many(paths: Paths, name: str) -> End:
    users = [user for user in paths.lists.parts if user not in paths.lists.ports]
    if name == EVERYONE:
        return End(name, tuple(sorted(users)), True, reason=None if users else "there are no users")
    wanted = name.removeprefix(DEPARTMENT)
    found = tuple(sorted(user for user in users if paths.show.users[user].department == wanted))
    return End(name, found, True, reason=None if found else f"nobody is in the department {wanted}")


def _of_target(paths: Paths, name: str, role: Role, case: Case) -> End:
    lists, facts = paths.lists, paths.facts
    bits = _users(lists, facts, name, role)
    circuits = circuits_on(paths, name, role, case)
    fields = {each: facts.circuits[each].hears if role == "to" else facts.circuits[each].speaks for each in circuits}
    members = [*(lists.order[slot] for slot in slots_of(bits)), *(each for each in circuits if case.so(fields[each]))]
    unknown = tuple(each for each in circuits if fields[each] is None) if role == "to" else ()
    does = "talks" if role == "from" else "listens"
    return End(name, tuple(sorted(members)), True, unknown, None if members else f"nobody {does} on {name}")


def _users(lists: Lists, facts: Facts, target: str, role: Role) -> int:
    """Bits of the users whose lists have the target, on headset or not."""
    if role == "from":
        return sum(1 << lists.place[name] for name, part in lists.parts.items() if target in part.talks)
    heard = lists.on.get(target, 0)
    if target not in facts.groups:
        heard |= ~lists.silent.get(target, 0)
    return heard & lists.users


def circuits_on(paths: Paths, target: str, role: Role, case: Case) -> tuple[str, ...]:
    """The circuits that a bridge ties to a group or line, or that are behind a port whose list has it."""
    facts = paths.facts
    found: set[str] = set()
    for bridge in facts.bridges.values():
        counts = (bridge.standby is None or case.returned) and _on(paths.lists, bridge, target, role)
        if counts and bridge.circuit is not None and bridge.circuit in facts.circuits:
            found.add(bridge.circuit)
    return tuple(sorted(found))


def _on(lists: Lists, bridge: Bridge, target: str, role: Role) -> bool:
    if not (brings_in(bridge) if role == "from" else carries_out(bridge)):
        return False
    port = lists.ports.get(bridge.target)
    if port is None or bridge.target == target:
        return bridge.target == target
    return target in (port.talks if role == "from" else port.listens)
