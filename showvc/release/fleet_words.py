"""The state of the fleet on a terminal, as JSON, and as CSV."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from showvc.changes.caution import CAUTION
from showvc.document.lining import cut, table, wrapped
from showvc.formats.tables.sheets import write_text_table
from showvc.history.snapshots import CODE_LENGTH
from showvc.release.fleet import Fleet, Holding, Part, Released, State, counts
from showvc.release.together import Together, with_edits

STATES: Mapping[State | str, str] = {
    "current": "holds the last release",
    "behind": "holds an earlier release",
    "recorded": "holds a snapshot that was not released",
    "edited": "carries edits that no snapshot has",
    "foreign": "holds a stamp that no release has",
    "unread": "could not be read",
    "contradicting": "gave two answers that differ",
    "missing": "gave no answer",
}
_BRIEFLY: Mapping[State | str, str] = {
    "current": "the last release",
    "behind": "an earlier release",
    "recorded": "recorded, not released",
    "edited": "edits nobody recorded",
    "foreign": "a stamp no release has",
    "unread": "could not be read",
    "contradicting": "two answers differ",
    "missing": "no answer",
}
"""The same in a column of 22."""
WIDTH = 100
_MOST_EDITS = 20


def short(code: str | None) -> str | None:
    """A snapshot's id as it is told: its first characters."""
    return code[:CODE_LENGTH] if code else None


@dataclass(frozen=True, slots=True)
class Calls:
    """What was typed, so that the commands that are told work as they are copied.

    `again` is the command that read this fleet, `show` the end that names the show folder; both quoted for a shell.
    `alone` tells whether `merge` reads the dumps as this did.
    """

    again: str = "showvc fleet TABLE…"
    show: str = ""
    alone: bool = True


def fleet_text(result: Fleet, calls: Calls | None = None) -> str:
    """Tables of the devices and of the parts, the summary first. Commands to copy stand in lines of their own."""
    parts = [line for part in result.parts for line in _part(part, result)]
    caution = ["", CAUTION] if result.critical else []
    lines = [*_prose(_summary(result)), "", *_devices(result)]
    lines += _prose([*parts, *_left_over(result), *caution])
    return "\n".join([*lines, *_apart(result, calls or Calls())]) + "\n"


def _prose(lines: Iterable[str]) -> Iterator[str]:
    """Lines that fit the terminal; what follows of a long one stands further in."""
    for text in lines:
        inset = " " * (len(text) - len(text.lstrip()))
        first, *rest = wrapped(text.strip(), WIDTH - len(inset) - 2)
        yield inset + first
        yield from (f"{inset}  {line}" for line in rest)


def _summary(result: Fleet) -> Iterator[str]:
    last = result.last
    yield f"Last release: {_release(last)}" if last else "Nothing was released yet."
    if last and last.over:
        yield f"  OVERRIDDEN: {last.over}"
    found = counts(result)
    for state, words in _BRIEFLY.items():
        if state in found:
            yield f"{found[state]:>5}  {words}"
    if result.agrees:
        yield "Every device holds the last release."


def _release(release: Released) -> str:
    note = release.note.split("\n", 1)[0]
    when = release.when[:16].replace("T", " ")
    return f"{release.stamp} · snapshot {short(release.code)} · {when}" + (f" · {note}" if note else "")


def released_line(release: Released) -> str:
    """A release in a line: what it is of, when, by whom, and what was overridden."""
    over = f" · OVERRIDDEN: {release.over}" if release.over else ""
    return f"{_release(release)} · by {release.who}{over}"


def released_table(releases: Sequence[Released]) -> list[str]:
    """Releases in a table, in the order given."""
    rows = [
        (each.stamp, each.code[:CODE_LENGTH], each.when[:16].replace("T", " "), each.who, _note(each))
        for each in releases
    ]
    return table(("stamp", "snapshot", "released", "who", "note"), rows)


def _note(release: Released) -> str:
    note = release.note.split("\n", 1)[0]
    return f"{note} · OVERRIDDEN: {release.over}" if release.over else note


def released_plain(release: Released) -> dict[str, Any]:
    """A release as JSON values."""
    return {**asdict(release), "code": release.code[:CODE_LENGTH]}


def _devices(result: Fleet) -> list[str]:
    rows = [
        (holding.device, holding.part or "-", holding.stamp or "-", *_how_far(holding), _BRIEFLY[holding.state])
        for holding in result.holdings
    ]
    rows += [(device, "-", "-", "-", "-", _BRIEFLY["missing"]) for device in result.missing]
    return table(("device", "part", "stamp", "release", "behind", "what it holds"), sorted(rows))


def _how_far(holding: Holding) -> tuple[str, str]:
    return holding.release or "-", "-" if holding.behind is None else str(holding.behind)


def _part(part: Part, result: Fleet) -> Iterator[str]:
    size = f"{len(part.devices)} device{'' if len(part.devices) == 1 else 's'}"
    yield ""
    yield f"Part {part.letter} ({size}): {part.stamp}, {STATES[part.state]}"
    yield f"  {_some(part.devices)}"
    over = next((release.over for release in result.releases if release.stamp == part.release and release.over), None)
    if over:
        yield f"  OVERRIDDEN in {part.release}: {over}"
    if part.state == "edited":
        yield f"  nearest snapshot: {short(part.code) or 'none'}"
        yield from (f"  {told}" for told in _edits(part))


def _edits(part: Part) -> list[str]:
    """The edits in words where the snapshot was opened, else the files they are in."""
    told = [cut(change.text or change.path, 3 * WIDTH) for change in part.changes] or [
        f"{apart.path}: {_known(apart.known)}" for apart in part.apart
    ]
    more = len(told) - _MOST_EDITS
    return told if more <= 0 else [*told[:_MOST_EDITS], f"… and {more} more (--json has them all)"]


def _known(known: str | None) -> str:
    return f"as in snapshot {short(known)}" if known else "as in no snapshot"


def _some(names: Sequence[str]) -> str:
    shown = ", ".join(names[:12])
    return shown if len(names) <= 12 else f"{shown} and {len(names) - 12} more"


def _apart(result: Fleet, calls: Calls) -> Iterator[str]:
    """How to bring parts together that were edited apart; each command in a line of its own, to be copied whole."""
    edited = with_edits(result)
    if not edited:
        return
    yield ""
    if len(result.parts) > 1 and result.base:
        yield f"All parts came from snapshot {short(result.base)}."
    yield "To take the edits of every part into this draft, one after the other:"
    yield f"  {calls.again} --merge"
    if len(edited) == 1 or not calls.alone:
        return
    where = {holding.device: holding.where[0] for holding in result.holdings}
    for part in edited:
        yield f"Part {part.letter} alone, from snapshot {short(part.code)}:"
        yield f"  showvc merge {shlex.quote(where[part.devices[0]])}{calls.show}"


def _left_over(result: Fleet) -> Iterator[str]:
    told = [f"{holding.device}: {holding.message}" for holding in result.holdings if holding.message]
    told += [f"{device}: answered more than once" for device in result.doubled]
    told += [f"{reading.where}: {_who(reading.device)}" for reading in result.unknown]
    if told:
        yield from ("", "To look at:", *(f"  {line}" for line in told))


def _who(device: str) -> str:
    return f"{cut(device, 40)!r} is no device of this show" if device else "names no device"


def fleet_plain(result: Fleet) -> dict[str, Any]:
    """The same as JSON values; what is absent is None."""
    return {
        "last_release": result.last.stamp if result.last else None,
        "agrees": result.agrees,
        "devices": [
            {
                "device": holding.device,
                "state": holding.state,
                "stamp": holding.stamp,
                "release": holding.release,
                "behind": holding.behind,
                "part": holding.part,
                "where": list(holding.where),
                "message": holding.message or None,
            }
            for holding in result.holdings
        ],
        "parts": [_part_plain(part) for part in result.parts],
        "base": short(result.base),
        "missing": list(result.missing),
        "unknown": [{"device": reading.device, "where": reading.where} for reading in result.unknown],
        "doubled": list(result.doubled),
        "caution": CAUTION if result.critical else None,
    }


def _part_plain(part: Part) -> dict[str, Any]:
    return {
        "part": part.letter,
        "devices": list(part.devices),
        "state": part.state,
        "stamp": part.stamp,
        "release": part.release,
        "behind": part.behind,
        "snapshot": short(part.code),
        "files": [{"path": apart.path, "known": short(apart.known)} for apart in part.apart],
        "edits": [change.plain() for change in part.changes],
    }


_HEADS = ("device", "state", "stamp", "release", "behind", "part", "snapshot", "edits", "where", "message")


def fleet_csv(result: Fleet) -> bytes:
    """One row for each device of the show and each unknown answer, as every text table of ours is written."""
    parts = {part.letter: part for part in result.parts}
    rows = [_row(holding, parts.get(holding.part or "")) for holding in result.holdings]
    rows += [(device, "missing", *[None] * 8) for device in result.missing]
    rows += [(reading.device, "unknown", *[None] * 6, reading.where, None) for reading in result.unknown]
    return write_text_table([_HEADS, *rows])


def _row(holding: Holding, part: Part | None) -> tuple[Any, ...]:
    edited = len(part.changes) or len(part.apart) if part else None
    code = short(part.code) if part else None
    where = " ".join(holding.where)
    told = (holding.device, holding.state, holding.stamp, holding.release, holding.behind, holding.part)
    return (*told, code, edited, where, holding.message or None)


def together_plain(done: Together) -> dict[str, Any]:
    """What was taken in, as JSON values: each part's merge as `merge` tells it, and the parts that wait."""
    taken = [{"part": each.part.letter, **each.outcome.plain()} for each in done.taken]
    return {"merged": taken, "waiting": [part.letter for part in done.waiting]}
