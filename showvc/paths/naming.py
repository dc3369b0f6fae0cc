"""Who is meant: refusals for names that are no user's."""

from __future__ import annotations

from showvc.document import LINES, Show, ShowError, near


def check_user(show: Show, name: str, other_than: str | None = None) -> None:
    """ShowError where the name is no user's, with near names, or where it is `other_than`."""
    if name not in show.users:
        message, way_out = no_user(show, name)
        raise ShowError(message, way_out)
    if name == other_than:
        raise ShowError(f"{name} needs no path to himself", "name two users")


def no_user(show: Show, name: str) -> tuple[str, str | None]:
    """Why this name cannot be used for a user, and the way out if there is one."""
    if name in LINES:
        return f"{name} is a line, and lines are kept out of paths", "name a user"
    if name in show.groups:
        return f"{name} is a group; a path begins and ends at a user", "name a user"
    return f"there is no user {name}", near(name, show.users)
