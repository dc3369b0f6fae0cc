"""Key sheets as text: every device with its keys in place, to be printed, mailed, or held against the unit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from showvc.changes.caution import CAUTION
from showvc.document import LINES, Bridge, Channel, Device, LineUse, Show, User, key_place, target_of
from showvc.document.lining import columns, padded, wrapped

WIDTH = 100
"""Columns that a printed page of monospaced text holds."""
_INNER = 11
_ACROSS = 8
_WHOLE_PAGE = 32
"""Up to so many keys a page is drawn whole; on larger ones, rows in which no key is set take one line."""

LEGEND = (
    "momentary: talks while held · latch: a press switches · dual: a tap latches, a hold is momentary · "
    "open: always talks · listen: no talk · ! critical group"
)


@dataclass(frozen=True, slots=True)
class Cap:
    """What one key shows: its place, the label under it, how it talks, and whether a critical group is behind it."""

    key: str
    label: str = ""
    talk: str = ""
    critical: bool = False


def key_sheets(show: Show, width: int = WIDTH, heading: Sequence[str] = ()) -> str:
    """The sheets of every device in the order of their ids, at most `width` columns wide (at least 40).

    `heading` is printed under the title: a release's stamp, and what was overridden.
    """
    title = show.title or "(show without a title)"
    head = wrapped(f"KEY SHEETS · {title}", width)
    head += [line for text in heading for line in wrapped(text, width)]
    head += ["", *wrapped(LEGEND, width)]
    if show.critical_groups:
        head += ["", *wrapped(CAUTION, width)]
    sheets = [key_sheet(show, name, width) for name in show.devices]
    return "\n".join(head) + "\n" + "".join("\n" + sheet for sheet in sheets)


def key_sheet(show: Show, device: str, width: int = WIDTH) -> str:
    """The sheet of one device. KeyError where the show has no such device."""
    body = show.devices[device]
    user = show.users.get(body.user) if body.user else None
    lines = [*wrapped(_title(device, body), width), *wrapped(_about(show, body), width)]
    for page, known, keys in _pages(show, body):
        named = f"Page {page}" if known else f"Page {page}, not on this kind"
        lines += ["", named, *_drawn([cap_of(show, body, user, key) for key in keys], width)]
    lines += _beside(show, body, user, width)
    lines += _ports(show, device, body, width)
    return "\n".join([*lines, ""])


def _title(name: str, device: Device) -> str:
    return f"== {name} · {device.name} ==" if device.name else f"== {name} =="


def _about(show: Show, device: Device) -> str:
    worn = f"worn by {_called(show, device.user)}" if device.user else "worn by nobody"
    parts = [f"kind {device.kind}"]
    kind = show.kind(device.kind)
    if kind is None or kind.keys or device.user:
        parts.append(worn)
    return " · ".join([*parts, *filter(None, (device.place, device.hardware))])


def _called(show: Show, user: str) -> str:
    body = show.users.get(user)
    return f"{body.name} ({user})" if body and body.name else user


def _pages(show: Show, device: Device) -> Iterator[tuple[str, bool, list[str]]]:
    """Every page, whether the kind has it, and its keys: those that the kind has, and those set beyond it."""
    kind = show.kind(device.kind)
    count, pages = (kind.keys, kind.pages) if kind else (0, 0)
    set_keys = {page: list(keys) for page, keys in groupby(sorted(device.keys, key=key_place), lambda key: key[:1])}
    names = [chr(ord("A") + place) for place in range(pages)] if count else []
    for page in sorted({*names, *set_keys}):
        own = [f"{page}{number}" for number in range(1, count + 1)] if page in names else []
        known = set(own)
        yield page, page in names, [*own, *(key for key in set_keys.get(page, ()) if key not in known)]


def cap_of(show: Show, device: Device, user: User | None, key: str) -> Cap:
    """What this key of this device shows; a key that is not set has neither label nor talk."""
    channel = device.keys.get(key)
    if channel is None:
        return Cap(key)
    group = show.groups.get(target_of(channel))
    return Cap(key, show.key_label(user, channel), _talk(user, channel), group is not None and group.critical)


def _talk(user: User | None, channel: str) -> str:
    if user is None:
        return "no user"
    use: Channel | LineUse | None
    use = user.lines.get(channel, LineUse()) if channel in LINES else user.channels.get(channel)  # type: ignore[call-overload]
    if use is None:
        return "no channel"
    if use.talk != "none":
        return str(use.talk)
    return "listen" if use.listen != "none" else "silent"


def _drawn(caps: Sequence[Cap], width: int) -> list[str]:
    across = max(1, min(_ACROSS, (width - 1) // (_INNER + 1)))
    rows = [caps[start : start + across] for start in range(0, len(caps), across)]
    lines: list[str] = []
    for empty, run in groupby(rows, lambda row: len(caps) > _WHOLE_PAGE and not any(cap.label for cap in row)):
        if empty:
            together = [cap for row in run for cap in row]
            lines.append(f"{together[0].key} to {together[-1].key}: not set")
        else:
            for row in run:
                lines += _row(row)
    return lines


def _row(caps: Sequence[Cap]) -> list[str]:
    labels = [wrapped(cap.label, _INNER - 2, 2) for cap in caps]
    height = max(len(label) for label in labels)
    rule = "+" + "+".join("-" * _INNER for _ in caps) + "+"
    inner = [[_top(cap) for cap in caps]]
    inner += [[label[line] if line < len(label) else "" for label in labels] for line in range(height)]
    inner += [[cap.talk for cap in caps]]
    return [rule, *(_cells(texts) for texts in inner), rule]


def _top(cap: Cap) -> str:
    return padded(cap.key, _INNER - 3) + "!" if cap.critical else cap.key


def _cells(texts: Sequence[str]) -> str:
    return "|" + "|".join(f" {padded(text, _INNER - 1)}" for text in texts) + "|"


def _beside(show: Show, device: Device, user: User | None, width: int) -> list[str]:
    """The channels that the user has but this device gives no key."""
    if user is None or not device.keys:
        return []
    under = set(device.keys.values())
    left = [(entry.number, name) for name, entry in user.channels.items() if name not in under]
    if not left:
        return []
    named = [f"{number} {show.key_label(user, name)} ({_talk(user, name)})" for number, name in sorted(left)]
    return ["", *wrapped("Not under a key: " + ", ".join(named), width)]


def _ports(show: Show, name: str, device: Device, width: int) -> list[str]:
    kind = show.kind(device.kind)
    bridges = sorted((bridge.port, key, bridge) for key, bridge in show.bridges.items() if bridge.device == name)
    free = kind.ports if kind else 0
    if not bridges and not free:
        return []
    lines = ["", "Ports"]
    taken = {port for port, _, _ in bridges}
    shown = [(port, key, _port(show, key, bridge)) for port, key, bridge in bridges]
    shown += [(port, "", "not used") for port in range(1, min(free, _WHOLE_PAGE) + 1) if port not in taken]
    wide = max(columns(str(port)) for port, _, _ in shown)
    for port, _, text in sorted(shown):
        first, *more = wrapped(text, width - wide - 4)
        lines += [f"  {port:>{wide}}  {first}", *(" " * (wide + 4) + line for line in more)]
    return lines


_WAY = {"both": "to and from", "in": "into", "out": "out of"}


def _port(show: Show, name: str, bridge: Bridge) -> str:
    group = show.groups.get(bridge.target)
    critical = " !" if group is not None and group.critical else ""
    circuit = bridge.circuit or name
    return f"{circuit} ({bridge.kind}) {_WAY[bridge.direction]} {show.label(bridge.target)}{critical}"
