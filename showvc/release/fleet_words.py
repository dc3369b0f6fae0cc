"""The state of the fleet on a terminal, as JSON, and as CSV."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from showvc.changes.caution import CAUTION
from showvc.document.lining import counted, cut, printable, table, when_words, wrapped
from showvc.formats.tables.sheets import write_text_table
from showvc.history.snapshots import CODE_LENGTH
from showvc.release.fleet import Fleet, Holding, Part, Released, State, counts
from showvc.release.readings import Reading
from showvc.release.together import Together, with_edits

STATES: Mapping[State | str, str] = {
    "edited": "edits nobody recorded",
    "contradicting": "two answers differ",
    "unread": "could not be read",
    "foreign": "a stamp no release has",
    "recorded": "recorded, not released",
    "behind": "an earlier release",
    "current": "the last release",
    "missing": "no answer",
    "unknown": "no device of this show",
}
"""What a device holds, in words that fit a column of 22; what needs a person first."""
WIDTH = 80
_MOST_EDITS = 20
_LONGEST_EDIT = 300
_MOST_TO_LOOK_AT = 20


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


def fleet_text(result: Fleet, calls: Calls | None = None, width: int = WIDTH) -> str:
    """What the fleet holds, in lines of at most `width`: devices that agree are one line, what needs a person first.

    Commands to copy stand in lines of their own, and are never broken.
    """
    order = sorted(result.parts, key=lambda part: (_rank(part.state), -(part.behind or 0), -len(part.devices)))
    lines = [*_prose(_summary(result), width), "", *_table(result, order)]
    lines += _prose(_left_over(result), width)
    for part in order:
        lines += _prose(_part(part, result), width)
    lines += _prose([*_missing(result), *(["", CAUTION] if result.critical else [])], width)
    return "\n".join([*lines, *_apart(result, calls or Calls())]) + "\n"


def _rank(state: str) -> int:
    return list(STATES).index(state)


def _prose(lines: Iterable[str], width: int) -> Iterator[str]:
    """Lines that fit the terminal; what follows of a long one stands further in."""
    for text in map(printable, lines):
        inset = " " * (len(text) - len(text.lstrip()))
        first, *rest = wrapped(text.strip(), width - len(inset) - 2)
        yield inset + first
        yield from (f"{inset}  {line}" for line in rest)


def _summary(result: Fleet) -> Iterator[str]:
    last = result.last
    yield f"Last release: {_release(last)}" if last else "Nothing was released yet."
    if last and last.over:
        yield f"  OVERRIDDEN: {last.over}"
    if result.agrees:
        yield "Every device holds the last release."


def _table(result: Fleet, order: Sequence[Part]) -> list[str]:
    """One row for all devices that hold the same, and for all of whom the same is to be said."""
    rows = [
        (_rank(part.state), (part.letter, len(part.devices), STATES[part.state], part.stamp, *_how_far(part)))
        for part in order
    ]
    loose = {state: number for state, number in counts(result).items() if state in ("contradicting", "unread")}
    loose |= {"missing": len(result.missing), "unknown": len(result.unknown)}
    rows += [(_rank(state), ("-", number, STATES[state], *"---")) for state, number in loose.items() if number]
    cells = [(part, f"{number:>7}", *rest) for _, (part, number, *rest) in sorted(rows, key=lambda row: row[0])]
    return table(("part", "devices", "what they hold", "stamp", "release", "behind"), cells)


def _how_far(part: Part) -> tuple[str, str]:
    return part.release or "-", "-" if part.behind is None else str(part.behind)


def _release(release: Released) -> str:
    note = release.note.split("\n", 1)[0]
    when = when_words(release.when)
    return f"{release.stamp} · snapshot {short(release.code)} · {when}" + (f" · {note}" if note else "")


def released_line(release: Released) -> str:
    """A release in a line: what it is of, when, by whom, and what was overridden."""
    over = f" · OVERRIDDEN: {release.over}" if release.over else ""
    return f"{_release(release)} · by {release.who}{over}"


def released_table(releases: Sequence[Released]) -> list[str]:
    """Releases in a table, in the order given."""
    rows = [(each.stamp, each.code[:CODE_LENGTH], when_words(each.when), each.who, _note(each)) for each in releases]
    return table(("stamp", "snapshot", "released", "who", "note"), rows)


def _note(release: Released) -> str:
    note = release.note.split("\n", 1)[0]
    return f"{note} · OVERRIDDEN: {release.over}" if release.over else note


def released_plain(release: Released) -> dict[str, Any]:
    """A release as JSON values."""
    return {**asdict(release), "code": release.code[:CODE_LENGTH]}


def _part(part: Part, result: Fleet) -> Iterator[str]:
    yield ""
    yield f"Part {part.letter}, {counted(len(part.devices), 'device')}, {STATES[part.state]}: {_runs(part.devices)}"
    earlier = result.releases[:-1]  # what the last one was released over stands on top of all
    over = next((release.over for release in earlier if release.stamp == part.release and release.over), None)
    if over:
        yield f"  OVERRIDDEN in {part.release}: {over}"
    if part.state == "edited":
        yield f"  nearest snapshot: {short(part.code) or 'none'}"
        yield from (f"  {told}" for told in _edits(part))


def _missing(result: Fleet) -> Iterator[str]:
    if result.missing:
        yield ""
        yield f"{STATES['missing'].capitalize()} from {counted(len(result.missing), 'device')}: {_runs(result.missing)}"


def _runs(names: Sequence[str]) -> str:
    """All names; three or more that are numbered on end are told by the first and the last of them."""
    runs: list[list[str]] = []
    for name in names:
        if runs and _next(runs[-1][-1]) == name:
            runs[-1].append(name)
        else:
            runs.append([name])
    told = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs]
    return ", ".join(told)


def _next(name: str) -> str | None:
    """`pack-010` after `pack-009`; None after what is not numbered."""
    number = re.search(r"[0-9]+$", name)
    return f"{name[: number.start()]}{int(number[0]) + 1:0{len(number[0])}}" if number else None


def _edits(part: Part) -> list[str]:
    """The edits in words where the snapshot was opened, else the files they are in."""
    told = [cut(change.text or change.path, _LONGEST_EDIT) for change in part.changes] or [
        f"{apart.path}: {_known(apart.known)}" for apart in part.apart
    ]
    more = len(told) - _MOST_EDITS
    return told if more <= 0 else [*told[:_MOST_EDITS], f"… and {more} more (--json has them all)"]


def _known(known: str | None) -> str:
    return f"as in snapshot {short(known)}" if known else "as in no snapshot"


def _apart(result: Fleet, calls: Calls) -> Iterator[str]:
    """How to bring parts together that were edited apart; each command in a line of its own, to be copied whole."""
    edited = with_edits(result)
    if not edited:
        return
    yield ""
    if len(result.parts) > 1 and result.base:
        yield f"All parts came from snapshot {short(result.base)}."
    yield "To take the edits of every part into this draft, one after the other:"
    yield f"  {printable(calls.again)} --merge"
    if len(edited) == 1 or not calls.alone:
        return
    where = {holding.device: holding.where[0] for holding in result.holdings}
    for part in edited:
        yield f"Part {part.letter} alone, from snapshot {short(part.code)}:"
        yield f"  showvc merge {printable(shlex.quote(where[part.devices[0]]))}{calls.show}"


def _left_over(result: Fleet) -> Iterator[str]:
    told = [f"{holding.device}: {holding.message}" for holding in result.holdings if holding.message]
    known = {holding.device for holding in result.holdings if holding.message}
    told += [f"{device}: answered more than once" for device in result.doubled if device not in known]
    told += [f"{reading.where}: {_who(reading)}" for reading in result.unknown]
    if told:
        yield from ("", "To look at:", *(f"  {line}" for line in told[:_MOST_TO_LOOK_AT]))
    if len(told) > _MOST_TO_LOOK_AT:
        yield f"  … and {len(told) - _MOST_TO_LOOK_AT} more (--csv and --json have them all)"


def _who(reading: Reading) -> str:
    if not reading.device:
        return "names no device"
    guess = _guess(reading)
    return f"{cut(reading.device, 40)!r} is {STATES['unknown']}" + (f" ({guess})" if guess else "")


def _guess(reading: Reading) -> str | None:
    return reading.problem.way_out if reading.problem else None


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
        "unknown": [{"device": each.device, "where": each.where, "message": _guess(each)} for each in result.unknown],
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


_HEADS = ("device", "what it holds", "stamp", "release", "behind", "part", "snapshot", "edits", "where", "message")


def fleet_csv(result: Fleet) -> bytes:
    """One row for each device of the show and each unknown answer, in the words of the screen."""
    parts = {part.letter: part for part in result.parts}
    rows = [_row(holding, parts.get(holding.part or "")) for holding in result.holdings]
    rows += [(device, STATES["missing"], *[None] * 8) for device in result.missing]
    rows += [
        (each.device, STATES["unknown"], each.stamp, *[None] * 5, each.where, _guess(each)) for each in result.unknown
    ]
    return write_text_table([_HEADS, *(tuple(map(_cell, row)) for row in rows)])


def _cell(value: Any) -> Any:
    return printable(value) if isinstance(value, str) else value


def _row(holding: Holding, part: Part | None) -> tuple[Any, ...]:
    edited = len(part.changes) or len(part.apart) if part else None
    code = short(part.code) if part else None
    where = " ".join(holding.where)
    told = (holding.device, STATES[holding.state], holding.stamp, holding.release, holding.behind, holding.part)
    return (*told, code, edited, where, holding.message or None)


def together_plain(done: Together) -> dict[str, Any]:
    """What was taken in, as JSON values: each part's merge as `merge` tells it, and the parts that wait."""
    taken = [{"part": each.part.letter, **each.outcome.plain()} for each in done.taken]
    return {"merged": taken, "waiting": [part.letter for part in done.waiting]}
