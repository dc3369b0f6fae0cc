"""Key sheets as text: every device with its keys in place, to be printed, mailed, or held against the unit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from showvc.changes.caution import CAUTION
from showvc.document import Bridge, Channel, Device, LineUse, Show, User, key_place, target_of
from showvc.document.lining import columns, padded, wrapped

WIDTH = 100
"""Columns that a printed page of monospaced text holds."""
ACROSS = 8
"""The most keys that are drawn in one row."""
_INNER = 11
_WHOLE_PAGE = 32
"""Up to so many keys a page is drawn whole; on larger ones, rows in which no key is set take one line."""

LEGEND = (
    "momentary: talks while held · latch: a press switches · dual: a tap latches, a hold is momentary · "
    "open: always talks · listen: no talk · ! critical group"
)


@dataclass(frozen=True, slots=True)
class Cap:
    """What one key shows: its place, the label under it, how it talks and listens, whether a group is critical.

    A key that is not set has no target. `trouble` says why a key that is set does nothing.
    """

    key: str
    target: str | None = None
    label: str = ""
    talk: str | None = None
    listen: str | None = None
    critical: bool = False
    trouble: str = ""

    @property
    def way(self) -> str:
        """How it talks, in a word: what stands under the label."""
        if self.target is None or self.trouble:
            return self.trouble
        if self.talk != "none":
            return self.talk or ""
        return "listen" if self.listen != "none" else "silent"


@dataclass(frozen=True, slots=True)
class Page:
    """The keys of one page; `known` is False for keys on a page that the device's kind has not got."""

    letter: str
    known: bool
    caps: tuple[Cap, ...]

    @property
    def title(self) -> str:
        return f"Page {self.letter}" if self.known else f"Page {self.letter}, not on this kind"


@dataclass(frozen=True, slots=True)
class Sheet:
    """One device as its sheet shows it, before it is drawn as text or as a page.

    `beside` are the channels of its user without a key here; `ports` are numbers, and what each one carries.
    """

    device: str
    name: str
    about: str
    pages: tuple[Page, ...]
    beside: tuple[str, ...] = ()
    ports: tuple[tuple[int, str], ...] = ()

    @property
    def caps(self) -> dict[str, Cap]:
        """Every key by its place."""
        return {cap.key: cap for page in self.pages for cap in page.caps}


def sheet_of(show: Show, device: str) -> Sheet:
    """The sheet of one device. KeyError where the show has no such device."""
    body = show.devices[device]
    user = show.users.get(body.user) if body.user else None
    pages = tuple(
        Page(letter, known, tuple(cap_of(show, body, user, key) for key in keys))
        for letter, known, keys in _pages(show, body)
    )
    beside, ports = tuple(_beside(show, body, user)), tuple(_ports(show, device, body))
    return Sheet(device, body.name, _about(show, body), pages, beside, ports)


def heading_of(show: Show) -> str:
    """What stands on top of a show's key sheets."""
    return f"KEY SHEETS · {show.title or '(show without a title)'}"


def key_sheets(
    show: Show, width: int = WIDTH, heading: Sequence[str] = (), devices: Iterable[str] | None = None
) -> str:
    """The sheets of devices, by default all in the order of their ids, at most `width` columns wide (at least 40).

    `heading` is printed under the title: a release's stamp, and what was overridden.
    """
    head = wrapped(heading_of(show), width)
    head += [line for text in heading for line in wrapped(text, width)]
    head += ["", *wrapped(LEGEND, width)]
    if show.critical_groups:
        head += ["", *wrapped(CAUTION, width)]
    sheets = [key_sheet(show, name, width) for name in (show.devices if devices is None else devices)]
    return "\n".join(head) + "\n" + "".join("\n" + sheet for sheet in sheets)


def key_sheet(show: Show, device: str, width: int = WIDTH) -> str:
    """The sheet of one device as text. KeyError where the show has no such device."""
    sheet = sheet_of(show, device)
    lines = [*wrapped(_title(device, sheet.name), width), *wrapped(sheet.about, width)]
    for page in sheet.pages:
        lines += ["", page.title, *_drawn(page.caps, width)]
    lines += ["", *wrapped("Not under a key: " + ", ".join(sheet.beside), width)] if sheet.beside else []
    lines += _port_lines(sheet.ports, width)
    return "\n".join([*lines, ""])


def _title(device: str, name: str) -> str:
    return f"== {device} · {name} ==" if name else f"== {device} =="


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
    """What this key of this device shows."""
    channel = device.keys.get(key)
    if channel is None:
        return Cap(key)
    group = show.groups.get(target_of(channel))
    critical = group is not None and group.critical
    use = _use(show, user, channel)
    talk, listen = (str(use.talk), str(use.listen)) if use else (None, None)
    trouble = "" if use else "no channel" if user else "no user"
    return Cap(key, channel, show.key_label(user, channel), talk, listen, critical, trouble)


def _use(show: Show, user: User | None, channel: str) -> Channel | LineUse | None:
    """How a user has this channel or line; None where he has not."""
    if user is None:
        return None
    if channel in show.lines:
        return user.lines.get(channel, LineUse())
    return user.channels.get(channel)


def rows_of(caps: Sequence[Cap], across: int = ACROSS) -> Iterator[Sequence[Cap] | str]:
    """The keys of a page in rows of `across`; on a very large page, a sentence for rows in which none is set."""
    rows = [caps[start : start + across] for start in range(0, len(caps), across)]
    for empty, run in groupby(rows, lambda row: len(caps) > _WHOLE_PAGE and not any(cap.label for cap in row)):
        if empty:
            together = [cap for row in run for cap in row]
            yield f"{together[0].key} to {together[-1].key}: not set"
        else:
            yield from run


def _drawn(caps: Sequence[Cap], width: int) -> list[str]:
    lines: list[str] = []
    for row in rows_of(caps, max(1, min(ACROSS, (width - 1) // (_INNER + 1)))):
        lines += [row] if isinstance(row, str) else _row(row)
    return lines


def _row(caps: Sequence[Cap]) -> list[str]:
    labels = [wrapped(cap.label, _INNER - 2, 2) for cap in caps]
    height = max(len(label) for label in labels)
    rule = "+" + "+".join("-" * _INNER for _ in caps) + "+"
    inner = [[_top(cap) for cap in caps]]
    inner += [[label[line] if line < len(label) else "" for label in labels] for line in range(height)]
    inner += [[cap.way for cap in caps]]
    return [rule, *(_cells(texts) for texts in inner), rule]


def _top(cap: Cap) -> str:
    return padded(cap.key, _INNER - 3) + "!" if cap.critical else cap.key


def _cells(texts: Sequence[str]) -> str:
    return "|" + "|".join(f" {padded(text, _INNER - 1)}" for text in texts) + "|"


def _beside(show: Show, device: Device, user: User | None) -> Iterator[str]:
    """The channels that the user has but this device gives no key, by number."""
    if user is None or not device.keys:
        return
    under = set(device.keys.values())
    for number, name in sorted((entry.number, name) for name, entry in user.channels.items() if name not in under):
        cap = Cap("", name, talk=user.channels[name].talk, listen=user.channels[name].listen)
        yield f"{number} {show.key_label(user, name)} ({cap.way})"


def _ports(show: Show, name: str, device: Device) -> Iterator[tuple[int, str]]:
    kind = show.kind(device.kind)
    bridges = sorted((bridge.port, key, bridge) for key, bridge in show.bridges.items() if bridge.device == name)
    taken = {port for port, _, _ in bridges}
    shown = [(port, key, _port(show, key, bridge)) for port, key, bridge in bridges]
    free = range(1, min(kind.ports if kind else 0, _WHOLE_PAGE) + 1)
    shown += [(port, "", "not used") for port in free if port not in taken]
    yield from ((port, text) for port, _, text in sorted(shown))


def _port_lines(ports: Sequence[tuple[int, str]], width: int) -> list[str]:
    lines = ["", "Ports"] if ports else []
    wide = max((columns(str(port)) for port, _ in ports), default=0)
    for port, text in ports:
        first, *more = wrapped(text, width - wide - 4)
        lines += [f"  {port:>{wide}}  {first}", *(" " * (wide + 4) + line for line in more)]
    return lines


_WAY = {"both": "to and from", "in": "into", "out": "out of"}


def _port(show: Show, name: str, bridge: Bridge) -> str:
    group = show.groups.get(bridge.target)
    critical = " !" if group is not None and group.critical else ""
    circuit = show.label(bridge.circuit) if bridge.circuit else name
    return f"{circuit} ({bridge.kind}) {_WAY[bridge.direction]} {show.label(bridge.target)}{critical}"
