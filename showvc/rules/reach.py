"""Rules about who hears whom."""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import Show
from showvc.document.pointers import join, parse
from showvc.paths import RequiredState, is_ring, required_states, required_words, ring_words
from showvc.paths import rings as rings_of
from showvc.rules.finding import Found, Scene


def required_paths_lost(scene: Scene) -> Iterator[Found]:
    for state in _states(scene):
        if state.state == "lost":
            yield _found(scene.show, state)


def required_paths_in_the_menu(scene: Scene) -> Iterator[Found]:
    for state in _states(scene):
        if state.state in ("unsure", "menu only", "in doubt"):
            yield _found(scene.show, state)


def _found(show: Show, state: RequiredState) -> Found:
    return Found((join("required", state.name),), required_words(show, state), hint=_why(state))


def _why(state: RequiredState) -> str:
    """The command that explains the first pair that is not there, with the edits that would make it."""
    return f"see: showvc paths {' '.join(state.missing[0])}" if state.missing else ""


def rings(scene: Scene) -> Iterator[Found]:
    for ring in (each for each in rings_of(scene.paths) if each.surely):
        paths = tuple(join("bridges", name) for name in sorted(ring.bridges))
        yield Found(paths, f"bridges close a ring: {ring_words(scene.show, ring)}")


def ring_again(scene: Scene, found: Found) -> bool:
    """Whether these bridges are a ring here too, be it one that others stand for."""
    return is_ring(scene.paths.surely, (parse(path)[1] for path in found.paths))


def _states(scene: Scene) -> tuple[RequiredState, ...]:
    return required_states(scene.paths) if scene.show.required else ()
