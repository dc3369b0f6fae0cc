"""The state of the fleet on a terminal, as JSON, and as CSV."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from showvc.changes.caution import CAUTION
from showvc.document.lining import table
from showvc.formats.tables.sheets import write_text_table
from showvc.history.snapshots import CODE_LENGTH
from showvc.release.fleet import Fleet, Holding, Part, Released, State, counts

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
_MOST_EDITS = 20


def short(code: str | None) -> str | None:
    """A snapshot's id as it is told: its first characters."""
    return code[:CODE_LENGTH] if code else None


def fleet_text(result: Fleet) -> str:
    """Tables of the devices and of the parts, the summary first."""
    lines = [*_summary(result), "", *_devices(result)]
    lines += [line for part in result.parts for line in _part(part, result)]
    lines += _apart(result)
    lines += _left_over(result)
    if result.critical:
        lines += ["", CAUTION]
    return "\n".join(lines) + "\n"


def _summary(result: Fleet) -> Iterator[str]:
    last = result.last
    yield f"Last release: {_release(last)}" if last else "Nothing was released yet."
    if last and last.over:
        yield f"  OVERRIDDEN: {last.over}"
    found = counts(result)
    for state, words in STATES.items():
        if state in found:
            yield f"{found[state]:>5}  {words}"
    if result.agrees:
        yield "Every device holds the last release."


def _release(release: Released) -> str:
    note = release.note.split("\n", 1)[0]
    return f"{release.stamp} · snapshot {short(release.code)} · {release.when}" + (f" · {note}" if note else "")


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
        (holding.device, holding.part or "-", holding.stamp or "-", *_how_far(holding), STATES[holding.state])
        for holding in result.holdings
    ]
    rows += [(device, "-", "-", "-", "-", STATES["missing"]) for device in result.missing]
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
    told = [change.text or change.path for change in part.changes] or [
        f"{apart.path}: {_known(apart.known)}" for apart in part.apart
    ]
    more = len(told) - _MOST_EDITS
    return told if more <= 0 else [*told[:_MOST_EDITS], f"… and {more} more (--json has them all)"]


def _known(known: str | None) -> str:
    return f"as in snapshot {short(known)}" if known else "as in no snapshot"


def _some(names: Sequence[str]) -> str:
    shown = ", ".join(names[:12])
    return shown if len(names) <= 12 else f"{shown} and {len(names) - 12} more"


def _apart(result: Fleet) -> Iterator[str]:
    """How to bring parts together that were edited apart."""
    edited = [part for part in result.parts if part.state == "edited" and part.code]
    if not edited:
        return
    where = {holding.device: holding.where[0] for holding in result.holdings}
    yield ""
    if len(result.parts) > 1 and result.base:
        yield f"All parts came from snapshot {short(result.base)}."
    yield "To take these edits in:"
    for part in edited:
        yield f"  part {part.letter}: showvc merge {where[part.devices[0]]}   (from snapshot {short(part.code)})"


def _left_over(result: Fleet) -> Iterator[str]:
    told = [f"{holding.device}: {holding.message}" for holding in result.holdings if holding.message]
    told += [f"{device}: answered more than once" for device in result.doubled]
    told += [f"{reading.where}: {_who(reading.device)}" for reading in result.unknown]
    if told:
        yield from ("", "To look at:", *(f"  {line}" for line in told))


def _who(device: str) -> str:
    return f"{device!r} is no device of this show" if device else "names no device"


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
