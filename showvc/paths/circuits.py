"""What bridges tie together: each circuit, and which way a bridge carries.

Bridges that name the same circuit share one outside system; a bridge without a circuit's name has one of
its own. A bridge whose target is neither a group nor a user carries nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import Bridge, Show, target_of

Circuit = tuple[str, str]
"""`("circuit", name)`, or `("bridge", id)` where the circuit has no name."""


def circuit_of(name: str, bridge: Bridge) -> Circuit:
    """The outside system behind the bridge of this id."""
    return ("circuit", bridge.circuit) if bridge.circuit else ("bridge", name)


def circuit_words(circuit: Circuit) -> str:
    """The circuit in a sentence."""
    return f"circuit {circuit[1]}" if circuit[0] == "circuit" else f"the circuit behind bridge {circuit[1]}"


def carries_out(bridge: Bridge) -> bool:
    """Whether it carries what is said to its target into its circuit."""
    return bridge.direction in ("out", "both")


def brings_in(bridge: Bridge) -> bool:
    """Whether it brings its circuit's sound to its target."""
    return bridge.direction in ("in", "both")


def tied(show: Show) -> Iterator[tuple[str, Bridge, Circuit]]:
    """The bridges that point at something, with their circuits, by id."""
    for name, bridge in show.bridges.items():
        if bridge.target in show.groups or bridge.target in show.users:
            yield name, bridge, circuit_of(name, bridge)


def opened(show: Show, user: str) -> frozenset[str]:
    """The targets that a user's open channels reach unasked."""
    return frozenset(target_of(key) for key, entry in show.users[user].channels.items() if entry.talk == "open")


def listened(show: Show, user: str) -> frozenset[str]:
    """The targets that a user listens to."""
    return frozenset(target_of(key) for key, entry in show.users[user].channels.items() if entry.listen != "none")
