"""Who can use a line: what edits do to that. The matrix of paths leaves the lines out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from showvc.document import Show, differing
from showvc.paths import Hand, Keys, spoken

_WORST_FIRST: tuple[Hand | None, ...] = (None, "menu", "open", "key")


@dataclass(frozen=True, slots=True)
class LineChange:
    """A user's way to a line: on a key, always open, in the menu only, or None."""

    user: str
    line: str
    before: Hand | None
    after: Hand | None

    def words(self, show: Show) -> str:
        """The change in a sentence; `show` is the one after the edits."""
        who, line = spoken(show, self.user), show.label(self.line)
        if self.after is None:
            return f"{who} CAN NO LONGER use {line}"
        if self.after == "menu" and self.before is not None:
            return f"{who} can use {line} from the menu only, without a key"
        return f"{who} can now use {line}" + ("" if self.after != "menu" else ", from the menu only")


def line_changes(before: Show, after: Show, keys: tuple[Keys, Keys]) -> tuple[LineChange, ...]:
    """Each user of both shows whose way to a line is another, losses first. `keys` are the shows'."""
    touched = {*differing(before.users, after.users), *_wearers(before, after)}
    both = sorted(name for name in touched if name in before.users and name in after.users)
    found = []
    for user in both:
        for line in {**before.lines, **after.lines}:
            old, new = (_hand(show, held, user, line) for show, held in zip((before, after), keys, strict=True))
            if old != new:
                found.append(LineChange(user, line, old, new))
    return tuple(sorted(found, key=lambda each: (_WORST_FIRST.index(each.after), each.line)))


def _wearers(before: Show, after: Show) -> Iterator[str]:
    """Those whose devices differ."""
    for name in differing(before.devices, after.devices):
        yield from (show.devices[name].user or "" for show in (before, after) if name in show.devices)


def _hand(show: Show, keys: Keys, user: str, line: str) -> Hand | None:
    use = show.users[user].lines.get(line)
    if use is None or use.talk == "none":
        return None
    return "key" if line in keys.get(user, {}) else "open" if use.talk == "open" else "menu"
