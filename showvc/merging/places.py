"""The places at which a merge can be settled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from showvc.changes import Change, edits
from showvc.document import SECTIONS, Show
from showvc.document.editing import ABSENT, get, put, shape_at
from showvc.document.pointers import join, parse
from showvc.merging.conflict import Sides

Steps = tuple[str, ...]


def settle_places(sides: Sides, result: Show, pointers: Iterable[str]) -> tuple[str, ...]:
    """The places among these where the sides differ, widened until either side's value can be taken.

    A map stands for those of its entries that only one side has.
    """
    found: dict[Steps, None] = {}
    for pointer in pointers:
        steps = parse(pointer)
        shape = shape_at(steps)
        if shape is not None and shape.kind == "map":
            found.update(dict.fromkeys(_only_one_has(sides, result, steps)))
        elif _differs(sides, steps):
            found[removable(sides, steps)] = None
    return widest(join(*steps) for steps in found)


def _differs(sides: Sides, steps: Steps) -> bool:
    return bool(get(sides.mine, steps) != get(sides.incoming, steps))


def _only_one_has(sides: Sides, result: Show, steps: Steps) -> list[Steps]:
    mine, incoming, now = (_names(show, steps) for show in (sides.mine, sides.incoming, result))
    return [(*steps, name) for name in sorted((mine ^ incoming) & now)]


def _names(show: Show, steps: Steps) -> set[str]:
    if len(steps) == 1 and steps[0] in SECTIONS:
        return set(show.section(steps[0]))
    value = get(show, steps)
    return set() if value is ABSENT else set(value)


def removable(sides: Sides, steps: Steps) -> Steps:
    """The narrowest place from here upwards that can be taken out where a side has nothing."""
    while len(steps) > 2 and ABSENT in (get(sides.mine, steps), get(sides.incoming, steps)):
        shape = shape_at(steps)
        if shape is None or not shape.required or _in_a_map(steps):
            break
        steps = steps[:-1]
    return steps


def _in_a_map(steps: Steps) -> bool:
    parent = shape_at(steps[:-1])
    return parent is not None and parent.kind == "map"


def widest(places: Iterable[str]) -> tuple[str, ...]:
    """The places without those that stand within another of them."""
    kept = dict.fromkeys(places)
    return tuple(path for path in kept if not any(path.startswith(f"{other}/") for other in kept))


def places_edited(before: Show, side: Show) -> list[str]:
    """Every place that a side edited and a rule may look at; of two that traded, each for itself."""
    found: dict[str, None] = {}
    for change in edits(before, side).changes:
        traded = {**change.before, **change.after} if change.change == "swapped" or _moved_key(change) else {}
        leaf = "/number" if change.path.endswith("/channels") else ""
        found.update(dict.fromkeys([change.path + join(name) + leaf for name in traded] or [change.path]))
    return [path for path in found if not _carried_along(parse(path))]


def _carried_along(steps: Steps) -> bool:
    shape = shape_at(steps)
    return shape is not None and shape.kind == "free"


def _moved_key(change: Change) -> bool:
    return change.change == "moved" and isinstance(change.after, Mapping)


def put_back(show: Show, source: Show, values: Mapping[str, object]) -> Show:
    """The show with these values at their pointers; what holds them is brought from `source` where it is gone."""
    placed: dict[Steps, object] = {}
    for pointer, value in values.items():
        steps = parse(pointer)
        if value is not ABSENT:
            place = _reachable(show, source, steps)
            placed[place] = value if place == steps else get(source, place)
        elif _stands(show, steps[:-1]):
            placed[steps] = ABSENT
    return put(show, placed)


def _reachable(show: Show, source: Show, steps: Steps) -> Steps:
    """The place itself, or the widest thing around it that only `source` has."""
    least = 2 if steps[0] in SECTIONS else 1
    while len(steps) > least and not _stands(show, steps[:-1]) and _stands(source, steps[:-1]):
        steps = steps[:-1]
    return steps


def _stands(show: Show, steps: Steps) -> bool:
    return not steps or (len(steps) == 1 and steps[0] in SECTIONS) or get(show, steps) is not ABSENT


def free_value(show: Show, pointer: str) -> int | None:
    """The lowest number free for a channel, or port free for a bridge; None where none is, or at another place."""
    section, name, *rest = parse(pointer)
    if section == "users" and rest[0] == "channels":
        taken = {entry.number for entry in show.users[name].channels.values()}
        most = show.most_channels
    elif section == "bridges" and rest == ["port"]:
        device = show.devices.get(show.bridges[name].device)
        kind = show.kind(device.kind) if device else None
        taken = {bridge.port for bridge in show.bridges.values() if bridge.device == show.bridges[name].device}
        most = kind.ports if kind else 0
    else:
        return None
    return next((number for number in range(1, most + 1) if number not in taken), None)
