"""Rules about who hears whom."""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import Show
from showvc.document.pointers import join
from showvc.paths import RequiredState, required_states, ring_words, rings_of
from showvc.rules.finding import Found, Scene


def required_paths_lost(scene: Scene) -> Iterator[Found]:
    for state in _states(scene):
        if state.state == "lost" and _points_at_something(scene.show, state):
            yield Found(
                (join("required", state.name),),
                f"{required_words(scene.show, state)} is lost: {_missing(scene.show, state)}",
            )


def required_paths_in_the_menu(scene: Scene) -> Iterator[Found]:
    for state in _states(scene):
        if state.state == "menu":
            talkers = sorted({talker for talker, _ in state.in_menu})
            who = ", ".join(scene.show.label(name) for name in talkers[:6])
            message = f"{required_words(scene.show, state)} holds, but {who} finds it only in the menu"
            yield Found((join("required", state.name),), message)


def rings(scene: Scene) -> Iterator[Found]:
    for ring in rings_of(scene.show):
        paths = tuple(join("bridges", name) for name in sorted(ring.bridges))
        yield Found(paths, f"bridges close a ring: {ring_words(scene.show, ring)}")


def required_words(show: Show, state: RequiredState) -> str:
    """A required path in words: `required path sm-fly, SM <-> FLY (fly cues are called here)`."""
    arrow = "<->" if state.required.both else "->"
    why = f" ({state.required.why})" if state.required.why else ""
    return (
        f"required path {state.name}, {show.label(state.required.from_)} {arrow} {show.label(state.required.to)}{why},"
    )


def _states(scene: Scene) -> tuple[RequiredState, ...]:
    return required_states(scene.show, scene.matrix) if scene.show.required else ()


def _points_at_something(show: Show, state: RequiredState) -> bool:
    """A path that leads to nothing is told by the rule about references."""
    return state.required.from_ in show.users and show.target(state.required.to) is not None


def _missing(show: Show, state: RequiredState) -> str:
    if state.reason:
        return state.reason
    shown = [f"{show.label(listener)} cannot hear {show.label(talker)}" for talker, listener in state.missing[:4]]
    more = len(state.missing) - len(shown)
    return ", ".join(shown) + (f", and {more} more" if more > 0 else "")
