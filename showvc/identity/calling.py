"""What somebody means who names a thing: an exact id first, else a label or name that only one thing has, in any case.

The one place where words become ids. What nothing is called stays as it is in a path, for the place may be new.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from showvc.document import BUILT_IN_KINDS, DOCUMENT, SECTIONS, Show, ShowError, near, target_of
from showvc.document.editing import Steps, shape_at
from showvc.document.patterns import is_pattern
from showvc.document.pointers import parse
from showvc.document.references import HOMES
from showvc.document.values import DEPARTMENT, EVERYONE
from showvc.identity.names import folded

TARGETS = ("groups", "users", "lines")
ENDS = ("users", "groups", "circuits", "lines")
EVERYTHING = (*SECTIONS, "lines", "kinds")
_OUTABLE = ("devices", "bridges", "circuits", "carriers", "users", "groups", "lines")


def things(show: Show, section: str) -> Mapping[str, Any]:
    """The things of a section by id; of lines and kinds too."""
    if section == "kinds":
        return {**BUILT_IN_KINDS, **show.head.kinds}
    return show.lines if section == "lines" else show.section(section)


def find(show: Show, text: str, sections: Collection[str] = EVERYTHING) -> Steps:
    """Section and id of the one thing that is called so; `users/SM` names the section too.

    ShowError where nothing or several things are called so, with the candidates.
    """
    steps = parse(text)
    if len(steps) == 2 and steps[0] in EVERYTHING:
        if steps[0] not in sections:
            raise ShowError(f"{text}: can't be used here", f"name one of: {', '.join(sections)}")
        text, sections = steps[1], (steps[0],)
    found = [(section, text) for section in sections if text in things(show, section)]
    found = found or _alike(show, text, sections)
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join("/".join(each) for each in sorted(found))
        raise ShowError(f"{text!r} may be {names}", "name one of them so")
    raise _unknown(show, text, sections)


def called(show: Show, text: str) -> str:
    """The id of a user, group, circuit or line that is called so.

    Ends that are no single thing (`everyone`, `department:NAME`) stay as they are. ShowError where nothing or several
    things are called so.
    """
    if text == EVERYONE or text.startswith(DEPARTMENT) or any(text in things(show, name) for name in ENDS):
        return text
    return _only(show, text, ENDS) or _raise(_unknown(show, text, ENDS))


def outs(show: Show, texts: Iterable[str]) -> frozenset[str]:
    """What is named as out, as `section/id`; the section can be left out where only one thing is called so.

    ShowError for what is not in the show, or where it is not plain what is meant.
    """
    return frozenset("/".join(find(show, text.removeprefix("/"), _OUTABLE)) for text in texts)


def resolved(show: Show, steps: Steps) -> Steps:
    """A path with the ids of what its steps call by label or name. ShowError where several things are called so."""
    found: Steps = ()
    for step in steps:
        found = (*found, resolved_step(show, found, step))
    return found


def resolved_step(show: Show, above: Steps, step: str) -> str:
    """The id of what one step of a path calls by label or name, below these steps; else the step."""
    shape = shape_at(above) if above else DOCUMENT
    if shape is None or shape.kind != "map" or shape.to is None or is_pattern(step):
        return step
    if len(above) == 3 and above[0] == "users" and above[2] == "channels":
        return _channel(show, above[1], step)
    homes = HOMES.get(shape.to, ())
    return step if any(step in things(show, home) for home in homes) else _only(show, step, homes) or step


def resolved_value(show: Show, steps: Steps, text: str) -> str:
    """The text of a field with the id of what it calls by label or name; else the text."""
    shape = shape_at(steps)
    if shape is None or shape.kind != "text" or shape.to is None or shape.to not in HOMES:
        return text
    if shape.to == "channel":
        device = show.devices.get(steps[1])
        return _channel(show, device.user if device else None, text)
    homes = HOMES[shape.to]
    return text if any(text in things(show, home) for home in homes) else _only(show, text, homes) or text


def _channel(show: Show, user: str | None, text: str) -> str:
    """The channel of a user's list that is called so, else the target of the show."""
    body = show.users.get(user or "")
    name, mark, turn = text.partition("#")
    if (body and text in body.channels) or any(name in things(show, home) for home in TARGETS):
        return text
    wanted = folded(text)
    own = [each for each in (body.channels if body else ()) if wanted in _words_of_channel(show, user, each)]
    if len(own) == 1:
        return own[0]
    if own:
        raise ShowError(f"{text!r} may be {', '.join(sorted(own))}", "name one of them by its id")
    found = _only(show, name, TARGETS)
    return f"{found}{mark}{turn}" if found else text


def _words_of_channel(show: Show, user: str | None, channel: str) -> set[str]:
    entry = show.users[user or ""].channels[channel]
    target = show.target(target_of(channel))
    return {folded(words) for words in (entry.label, *(_words(target) if target else ())) if words}


def _words(body: Any) -> tuple[str, ...]:
    found = (getattr(body, field, None) for field in ("label", "name"))
    return tuple(words for words in found if isinstance(words, str) and words)  # a kind's label is a count


def _alike(show: Show, text: str, sections: Iterable[str]) -> list[tuple[str, str]]:
    wanted = folded(text)
    return [
        (section, name)
        for section in sections
        for name, body in things(show, section).items()
        if wanted in {folded(words) for words in (*_words(body), name)}
    ]


def _only(show: Show, text: str, sections: Iterable[str]) -> str | None:
    """The id of the one thing that is called so; None where nothing is. ShowError where several things are."""
    found = {name for _, name in _alike(show, text, sections)}
    if len(found) > 1:
        raise ShowError(f"{text!r} may be {', '.join(sorted(found))}", "name one of them by its id")
    return found.pop() if found else None


def _unknown(show: Show, text: str, sections: Collection[str]) -> ShowError:
    nouns = [section.removesuffix("s") for section in sections]
    noun = f"{', '.join(nouns[:-1])} or {nouns[-1]}" if len(nouns) > 1 else nouns[0]
    hint = near(text, (name for section in sections for name in things(show, section)))
    return ShowError(f"there is no {noun} {text}", hint or "see who there are: showvc paths")


def _raise(error: ShowError) -> str:
    raise error
