"""How positions and groups are called in sentences, and refusals for names that are no user's."""

from __future__ import annotations

import re

from showvc.document import Show, ShowError, near, target_of

_MOST_OFFERED = 6
_BETWEEN = re.compile(r"[\s._/-]+")


def spoken(show: Show, name: str) -> str:
    """A target as it is called on headset: what the displays show, and its id where that is not plain from it.

    `SM` for sm, `FLY 1` for fly-1, but `CART (auto-op)`.
    """
    label = show.label(name)
    return label if _BETWEEN.sub("", label.lower()) == name.replace("-", "") else f"{label} ({name})"


def check_position(show: Show, name: str, other_than: str | None = None) -> None:
    """ShowError where the id is neither a user's, who is no port, nor a circuit's, or where it is `other_than`."""
    user = show.users.get(name)
    if (user is None or user.port) and name not in show.circuits:
        message, way_out = no_position(show, name)
        raise ShowError(message, way_out)
    if name == other_than:
        raise ShowError(f"{name} needs no path to {name}", "name two positions")


def no_position(show: Show, name: str) -> tuple[str, str | None]:
    """Why this id cannot be used for a position, and the way out if there is one."""
    if name in show.users:
        behind = sorted({b.circuit for b in show.bridges.values() if b.target == name and b.circuit is not None})
        way_out = f"name what is behind it: {', '.join(behind)}" if behind else "name a user or a circuit"
        return f"{name} is a port, and a port is no position", way_out
    if name in show.lines:
        return f"{name} is a line; a path begins and ends at a position", "name a user or a circuit"
    if name in show.groups:
        return f"{name} is a group; a path begins and ends at a position", _offered(on_group(show, name))
    hint = near(name, [*show.users, *show.circuits])
    return f"there is no user or circuit {name}", hint or "see who there are: showvc paths, or look into users/"


def on_group(show: Show, group: str) -> tuple[str, ...]:
    """The users who have a group on their lists, by id."""
    return tuple(name for name, user in show.users.items() if group in map(target_of, user.channels))


def _offered(names: tuple[str, ...]) -> str:
    if not names:
        return "name a user"
    more = f" and {len(names) - _MOST_OFFERED} more" if len(names) > _MOST_OFFERED else ""
    return f"name a user; on it are {', '.join(names[:_MOST_OFFERED])}{more}"
