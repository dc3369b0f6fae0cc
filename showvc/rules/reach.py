"""Rules about who must hear whom, who must not, and what comes round."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from showvc.document import target_of
from showvc.document.pointers import join, parse
from showvc.paths import ApartState, Overheard, PublicState, State, apart_states, is_ring, public_states
from showvc.paths import rings as rings_of
from showvc.paths.capacities import over_full
from showvc.paths.ends import no_such
from showvc.rules.finding import Found, Scene

# --- required ---


def required(state: State) -> Callable[[Scene], Iterator[Found]]:
    """What a rule looks for: required paths in this state. One that points at nothing is told as that alone."""

    def look(scene: Scene) -> Iterator[Found]:
        broken = _broken(scene, "required")
        for found in scene.required:
            if found.state == state and found.name not in broken:
                facts = (
                    found.name, found.state, found.missing, found.off_headset, found.reasons, found.in_menu,
                    found.unsure, found.doubts,
                )  # fmt: skip
                hint = f"see: showvc paths {' '.join(found.missing[0])}" if found.missing else ""
                yield Found((join("required", found.name),), facts, hint=hint)

    return look


def _broken(scene: Scene, section: str) -> frozenset[str]:
    """What of a section of the head points at nothing."""
    return frozenset(
        each.steps[1] for each in scene.dangling if each.steps[0] == section and each.thing != "department"
    )


# --- apart ---


def _apart(scene: Scene) -> tuple[ApartState, ...]:
    return apart_states(scene.paths) if scene.show.head.apart else ()


def overheard(scene: Scene) -> Iterator[Found]:
    """Pairs that must be apart and surely are not."""
    for state in _apart(scene):
        yield from (_overheard(state, state.overheard(pair)) for pair in state.surely)


def maybe_overheard(scene: Scene) -> Iterator[Found]:
    """Pairs that must be apart and of which it is not sure."""
    for state in _apart(scene):
        yield from (_overheard(state, state.overheard(pair)) for pair in state.possibly)


def _overheard(state: ApartState, found: Overheard) -> Found:
    bridges = tuple(dict.fromkeys(hop.bridge for hop in found.way.hops if hop.bridge is not None))
    hint = f"see: showvc paths {found.talker} {found.listener}"
    facts = (state.name, found.talker, found.listener, found.way.target, bridges, found.doubts)
    return Found((join("apart", state.name),), facts, (found.talker, found.listener), hint if found.surely else "")


def apart_of_nobody(scene: Scene) -> Iterator[Found]:
    """An end that is no id of the show is told as that; the other may be empty beside it."""
    known = {no_such(each.id) for each in scene.dangling if each.steps[0] == "apart"}
    for state in _apart(scene):
        if empty := tuple(reason for reason in state.empty if reason not in known):
            yield Found((join("apart", state.name),), (state.name, empty, state.in_both))


def required_and_apart(scene: Scene) -> Iterator[Found]:
    for state in _apart(scene):
        for name in dict.fromkeys(name for name, _ in state.required):
            pairs = tuple(sorted(pair for other, pair in state.required if other == name))
            yield Found((join("apart", state.name), join("required", name)), (state.name, name, pairs))


# --- public circuits, and circuits that take one talker at a time ---


def _public(scene: Scene, grave: bool) -> Iterator[PublicState]:
    for found in public_states(scene.paths):
        if (found.talk == "open" and found.surely) == grave:
            yield found


def open_to_public(scene: Scene) -> Iterator[Found]:
    """Open microphones that surely reach a public circuit."""
    yield from (_to_public(scene, found) for found in _public(scene, True))


def maybe_to_public(scene: Scene) -> Iterator[Found]:
    """Open microphones that only possibly do, and what latches."""
    yield from (_to_public(scene, found) for found in _public(scene, False))


def _to_public(scene: Scene, found: PublicState) -> Found:
    section = "channels" if found.channel in scene.show.users[found.user].channels else "lines"
    facts = (found.user, found.channel, found.circuit, found.talk, found.surely, found.doubts)
    return Found((join("users", found.user, section, found.channel),), facts, (found.circuit,))


def holding_a_circuit(scene: Scene) -> Iterator[Found]:
    """Open and latching talk that reaches a circuit which takes one talker at a time: nobody else comes through."""
    paths, show = scene.paths, scene.show
    single = {name: 1 << paths.lists.place[name] for name, body in paths.facts.circuits.items() if body.one_at_a_time}
    read = paths.surely
    for user, part in paths.lists.parts.items() if single else ():
        if not part.talks or not read.is_on_headset(user):
            continue
        body = show.users[user]
        for section, entries in (("channels", body.channels), ("lines", body.lines)):
            for channel, entry in entries.items():
                if entry.talk in ("open", "latch", "dual") and read.usable(user, channel):
                    bits = read.said(user, target_of(channel))
                    for circuit in (name for name, bit in single.items() if bits & bit):
                        facts = (user, channel, circuit, "open" if entry.talk == "open" else "latch")
                        yield Found((join("users", user, section, channel),), facts, (circuit,))


# --- rings ---


def rings(scene: Scene) -> Iterator[Found]:
    """Rings that are there surely."""
    yield from _rings(scene, True)


def maybe_rings(scene: Scene) -> Iterator[Found]:
    """Rings that may be there."""
    yield from _rings(scene, False)


def _rings(scene: Scene, surely: bool) -> Iterator[Found]:
    for ring in rings_of(scene.paths) if len(scene.show.bridges) > 1 else ():
        if ring.surely == surely:
            bridges = tuple(sorted(ring.bridges))
            yield Found(tuple(join("bridges", name) for name in bridges), (bridges, ring.steps, ring.doubts))


def ring_again(scene: Scene, found: Found) -> bool:
    """Whether these bridges are a ring here too, be it one that others stand for."""
    return is_ring(scene.paths.surely, (parse(path)[1] for path in found.paths))


# --- what runs out ---


def over_capacity(scene: Scene) -> Iterator[Found]:
    for carrier, word in sorted(over_full(scene.paths.facts)):
        gives = scene.show.carriers[carrier].gives[word]
        yield Found((join("carriers", carrier, "gives", word),), (carrier, word, gives))
