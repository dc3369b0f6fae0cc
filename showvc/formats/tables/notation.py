"""How one cell of the sheet Channels names a channel: `fly M/A -3dB high "Fly 2"`.

First the target's id (a second channel to the same target is `fly#2`), then talk/listen by their letters,
then, where they are not the usual ones, level, priority, label, any other field as `name=value`, and `extra` as JSON.
Two channels in one cell stand with a semicolon between them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from typing import Any

from showvc.document import Body, Channel, Shape, shape_of
from showvc.document.cells import cell_text
from showvc.document.shapes import fields_of
from showvc.formats.tables.cells import Unreadable, field_value, json_text

TALK = {"none": "-", "momentary": "M", "latch": "L", "dual": "D", "open": "O"}
LISTEN = {"none": "-", "switchable": "S", "always": "A"}

_TALK_OF = {letter.lower(): word for word, letter in TALK.items()} | {word: word for word in TALK}
_LISTEN_OF = {letter.lower(): word for word, letter in LISTEN.items()} | {word: word for word in LISTEN}
_TALKS, _LISTENS = ("|".join(sorted(words, reverse=True)) for words in (_TALK_OF, _LISTEN_OF))
_MODE = rf"(?P<talk>{_TALKS})\s?/\s?(?P<listen>{_LISTENS})"
_LEVEL = r"(?P<level>[-+−]?[0-9.,]+(?:e-[0-9]+)?\s?dB)"
_NAMED = r"""(?P<name>[a-z][a-z0-9_-]*)=(?P<value>"(?:[^"\\]|\\.)*"|[^\s;"{}]+)"""
_FIELD = rf"(?:{_MODE}|{_LEVEL}|(?P<high>high)|{_NAMED})(?=\s|;|$)"
_TARGET = re.compile(rf"""\s*(?P<target>[^;"{{}}]+?)(?=\s*(?:;|$)|\s+(?:{_FIELD}|["{{]))""", re.IGNORECASE)
_PART = re.compile(rf"""\s*(?:{_FIELD}|(?P<json>["{{])|(?P<end>;|$))""", re.IGNORECASE)
_USUAL = re.compile(r"([a-z][a-z0-9-]{0,39}(?:#[0-9]{1,2})?) ([-MLDO])/([-SA])")

HINT = "a target, then talk/listen such as M/S; see the sheet About"

Entry = tuple[str, dict[str, Any]]


def channel_text(name: str, channel: Channel) -> str:
    """A channel as its cell says it."""
    words = [name, f"{TALK[channel.talk]}/{LISTEN[channel.listen]}"]
    if channel.level:
        words.append(f"{channel.level!r}dB")
    if channel.priority == "high":
        words.append("high")
    if channel.label is not None:
        words.append(json_text(channel.label))
    for field, written, shape in _others(type(channel)):
        value = getattr(channel, field)
        if value != shape.default:
            text = cell_text(value, shape)
            words.append(f"{written}={text if _PLAIN.fullmatch(text) else json_text(text)}")
    if channel.extra:
        words.append(json_text(channel.extra))
    return " ".join(words)


_SPELT = ("number", "talk", "listen", "level", "priority", "label", "extra")
"""The fields of a channel that have a spelling of their own in its cell; its number is the column's."""
_PLAIN = re.compile(r"[^\s;\"{}]+")


@cache
def _others(model: type[Body]) -> tuple[tuple[str, str, Shape], ...]:
    return tuple(found for found in fields_of(model) if found[1] not in _SPELT)


def entries_of(text: str) -> list[Entry]:
    """The channels that a cell names: target as written, and fields. Unreadable says what is wanted."""
    return [(target, dict(fields)) for target, fields in _entries(text)]


@lru_cache(maxsize=8192)
def _entries(text: str) -> tuple[Entry, ...]:
    usual = _USUAL.fullmatch(text)
    if usual:
        return ((usual[1], {"talk": _TALK_OF[usual[2].lower()], "listen": _LISTEN_OF[usual[3].lower()]}),)
    found: list[Entry] = []
    place, end = 0, len(text.rstrip().rstrip(";"))
    while place < end:
        entry, place = _entry(text, place)
        found.append(entry)
    return tuple(found)


def _entry(text: str, place: int) -> tuple[Entry, int]:
    start = _TARGET.match(text, place)
    if not start:
        raise Unreadable(HINT)
    place, fields = start.end("target"), dict[str, Any]()
    while True:
        part = _PART.match(text, place)
        if not part:
            raise Unreadable(f"{HINT}; {text[place:].strip()!r} was not understood")
        if part["end"] is not None:
            return (start["target"], fields), part.end()
        place = part.end()
        if part["json"]:
            place = _json_part(text, place - 1, fields)
        for name, read in _READERS.items():
            if part[name]:
                fields["priority" if name == "high" else name] = read(part[name])
        if part["name"]:
            fields[part["name"]] = _named(part["name"], part["value"])


def _json_part(text: str, place: int, fields: dict[str, Any]) -> int:
    try:
        value, place = json.JSONDecoder().raw_decode(text, place)
    except (ValueError, RecursionError):
        raise Unreadable(f"{HINT}; the quotes or braces do not close") from None
    fields["label" if isinstance(value, str) else "extra"] = value
    return place


def _named(name: str, text: str) -> Any:
    shape = shape_of(Channel).fields.get(name)
    if shape is None or name in _SPELT:
        others = ", ".join(written for _, written, _ in _others(Channel))
        raise Unreadable(f"{HINT}; {name!r} is no further field of a channel{f': {others}' if others else ''}")
    return field_value(json.loads(text) if text.startswith('"') else text, shape)


_READERS: dict[str, Callable[[str], Any]] = {
    "talk": lambda word: _TALK_OF[word.lower()],
    "listen": lambda word: _LISTEN_OF[word.lower()],
    "level": lambda text: field_value(text, shape_of(Channel).fields["level"]),
    "high": str.lower,
}


def odd_mode(target: str) -> str | None:
    """What stands at the end of a target as a mode would, and is none: `Q/A` of `fly Q/A`."""
    found = re.fullmatch(r".*\s(\S{1,12}/\S{1,12})", target.strip())
    return found[1] if found else None


def mode_of(text: str) -> dict[str, str]:
    """Talk and listen of `M/A` or `momentary/always`. Unreadable says what is wanted."""
    return dict(_modes(text))


@lru_cache(maxsize=1024)
def _modes(text: str) -> tuple[tuple[str, str], ...]:
    found = re.fullmatch(rf"\s*{_MODE}\s*", text, re.IGNORECASE)
    if not found:
        raise Unreadable(f"talk/listen, of {', '.join(TALK)} and {', '.join(LISTEN)}: such as momentary/always")
    return ("talk", _TALK_OF[found["talk"].lower()]), ("listen", _LISTEN_OF[found["listen"].lower()])


TALKS, LISTENS = "talks", "listens"


def meant_mode(text: str, now: Mapping[str, str]) -> dict[str, str]:
    """What a code of somebody else's means. `talks` and `listens` keep the way of it that there is `now`.

    Where there is none, they are momentary and always: `talks/listens` says no more than a plain TL in a plot does.
    """
    return dict(_meant(text, now.get("talk"), now.get("listen")))


@lru_cache(maxsize=1024)
def _meant(text: str, talks: str | None, listens: str | None) -> tuple[tuple[str, str], ...]:
    talk, _, listen = (word.strip().lower() for word in text.partition("/"))
    made = mode_of(f"{'-' if talk == TALKS else talk}/{'-' if listen == LISTENS else listen}")
    if talk == TALKS:
        made["talk"] = _unless_none(talks, "momentary")
    if listen == LISTENS:
        made["listen"] = _unless_none(listens, "always")
    return tuple(made.items())


def _unless_none(word: str | None, usual: str) -> str:
    return word if word and word != "none" else usual


def says_mode(meaning: str, talk: str, listen: str) -> bool:
    """Whether a code of this meaning is right for somebody who talks and listens so."""
    try:
        return meant_mode(meaning, {"talk": talk, "listen": listen}) == {"talk": talk, "listen": listen}
    except Unreadable:
        return False


LEGEND = (
    "A cell of Channels: the target's id, then talk/listen, for example: fly M/A",
    "Talk: - none, M momentary (held), L latch, D dual (a tap latches, a hold is momentary), O open",
    "Listen: - none, S switchable, A always",
    'Then, where needed: a level (-3dB), high (priority), "a label in quotes", field=value, {"further": "columns"}',
    "A second channel to the same target is fly#2. Two channels in one cell: a semicolon between them",
    'Text in quotes is taken as it stands: "" is an empty text, where an empty cell is none',
)
