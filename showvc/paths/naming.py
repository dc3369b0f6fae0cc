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


def check_user(show: Show, name: str, other_than: str | None = None) -> None:
    """ShowError where the name is no user's, with near names, or where it is `other_than`."""
    if name not in show.users:
        message, way_out = no_user(show, name)
        raise ShowError(message, way_out)
    if name == other_than:
        raise ShowError(f"{name} needs no path to {name}", "name two users")


def no_user(show: Show, name: str) -> tuple[str, str | None]:
    """Why this name cannot be used for a user, and the way out if there is one."""
    if name in show.lines:
        return f"{name} is a line, and lines are kept out of paths", "name a user"
    if name in show.groups:
        return f"{name} is a group; a path begins and ends at a user", _offered(on_group(show, name))
    return f"there is no user {name}", near(name, show.users) or "see who there are: showvc paths, or look into users/"


def on_group(show: Show, group: str) -> tuple[str, ...]:
    """The users who have a group on their lists, by id."""
    return tuple(name for name, user in show.users.items() if group in map(target_of, user.channels))


def _offered(names: tuple[str, ...]) -> str:
    if not names:
        return "name a user"
    more = f" and {len(names) - _MOST_OFFERED} more" if len(names) > _MOST_OFFERED else ""
    return f"name a user; on it are {', '.join(names[:_MOST_OFFERED])}{more}"
