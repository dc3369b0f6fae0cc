"""What an export through a mapping leaves out, because the mapping has no place for it: a sentence for each kind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from showvc.document import COLUMNS, PLOTS, SECTIONS, Device, Head, Shape, Show, Tree, head_tree, shape_of, to_tree
from showvc.document.cells import in_one_cell
from showvc.document.lining import counted
from showvc.formats.tables.drafts import Path, rows_of_head
from showvc.formats.tables.mapping import SECTION_OF, PlotMapping, spoken_fields
from showvc.formats.tables.meanings import extra_key
from showvc.formats.tables.notation import LISTENS, TALKS, meant_mode, says_mode
from showvc.formats.tables.plotwriting import grid_numbers
from showvc.formats.tables.silence import without_place

_ONE = {section: {"users": "position"}.get(section, section.removesuffix("s")) for section in SECTIONS}
_HEAD = {"kinds": "kind of device", "apart": "pair of paths apart"}
_IN_PART = ("channels", "keys", "extra")


def left_out(show: Show, mapping: PlotMapping) -> list[str]:
    """A sentence for each kind of thing or field of the show that the mapping has no place for."""
    spoken = spoken_fields(mapping)
    trees = {section: {name: to_tree(body) for name, body in show.section(section).items()} for section in SECTIONS}
    found: list[str] = []
    for section in SECTIONS:
        found += _things(section, trees[section], spoken)
    if placeless := without_place(mapping, show):
        found.append(f"{counted(len(placeless), 'device')} that nobody wears: devices stand within positions here")
    found += _channels(trees["users"], mapping, spoken)
    found += _numbers(show, mapping)
    found += _keys(show, mapping, spoken)
    found += _extra(show, mapping, trees)
    found += _head(show, spoken)
    return found


def _things(section: str, trees: Mapping[str, Any], spoken: set[Path]) -> Iterator[str]:
    if (section,) not in spoken:
        if trees:
            yield f"{counted(len(trees), _ONE[section])}: the mapping has no table of {_ONE[section]}s"
        return
    shape = shape_of(SECTIONS[section])
    counts = Counter(words for tree in trees.values() for words in {*_unsaid(tree, shape, (section,), spoken)})
    for words, count in counts.items():
        yield f"{words} of {counted(count, _ONE[section])}"


def _unsaid(tree: Tree, shape: Shape, at: Path, spoken: set[Path]) -> Iterator[str]:
    """The words for what stands in a tree and is not spoken of; what is only in part told with its whole."""
    for name, inner in shape.fields.items():
        if name in tree and name not in _IN_PART and not _is_said((*at, name), tree[name], inner, spoken):
            yield {"lines": "use of the lines"}.get(name, inner.words)


def _is_said(path: Path, value: Any, shape: Shape, spoken: set[Path]) -> bool:
    inside = shape.kind in ("record", "map") and not in_one_cell(shape)
    if not inside or path in spoken:
        return path in spoken
    below = [(name, inner, found) for name, inner in value.items() if (found := shape.at(name)) is not None]
    return all(_is_said((*path, name), inner, found, spoken) for name, inner, found in below)


def _channels(trees: Mapping[str, Any], mapping: PlotMapping, spoken: set[Path]) -> Iterator[str]:
    channels = [channel for tree in trees.values() for channel in tree.get("channels", {}).values()]
    if ("users", "channels") not in spoken:
        if channels:
            yield f"{counted(len(channels), 'channel')}: the mapping has no place for channels"
        return
    counts = Counter(field for channel in channels for field in channel if field not in ("number", "extra"))
    for field, count in counts.items():
        if ("users", "channels", field) not in spoken:
            yield f"{field} of {counted(count, 'channel')}"
    if again := _second(trees, mapping):
        yield f"{counted(again, 'second channel')} to a target that a position has already"
    vague = sum(_is_vague(channel, mapping) for channel in channels)
    if vague:
        yield f"how people talk or listen on {counted(vague, 'channel')}: the codes say only that they do"


def _second(trees: Mapping[str, Any], mapping: PlotMapping) -> int:
    """How many channels go to a target that has no second place in any table."""
    tables = mapping.tables.values()
    if any(table.each == "channel" or (table.across and table.across.is_ == "number") for table in tables):
        return 0
    return sum("#" in key for tree in trees.values() for key in tree.get("channels", {}))


def _numbers(show: Show, mapping: PlotMapping) -> Iterator[str]:
    """Grids of targets say channel numbers by the order of their columns, or not at all; plots of keys by the keys."""
    tables = mapping.tables.values()
    if any(table.each == "channel" and "number" in {*table.columns.values(), *table.set} for table in tables):
        return
    if any(table.across is not None and table.across.is_ == "number" for table in tables):
        return
    told = grid_numbers(show, mapping)
    by_keys = any(table.also == "channels" for table in tables)
    count = 0
    for name, user in show.users.items():
        keys = _keys_of(show, name) if by_keys else {}
        for key, channel in user.channels.items():
            count += channel.number != (told.get(key) or keys.get(key, channel.number if by_keys else 0))
    if count and ("users", "channels") in spoken_fields(mapping):
        yield f"the numbers of {counted(count, 'channel')}"


def _keys_of(show: Show, user: str) -> dict[str, int]:
    """The numbers of the keys of a user's devices by what they hold, the first that holds it."""
    found: dict[str, int] = {}
    for device in show.devices.values():
        if device.user == user:
            for key, held in device.keys.items():
                found.setdefault(held, int(key[1:]))
    return found


def _is_vague(channel: Mapping[str, Any], mapping: PlotMapping) -> bool:
    """Whether a channel is written by a code that does not say how it talks and listens."""
    talk, listen = channel.get("talk", "none"), channel.get("listen", "switchable")
    for table in mapping.tables.values():
        codes = [meaning for meaning in table.codes.get("mode", {}).values() if says_mode(meaning, talk, listen)]
        loose = [meaning for meaning in codes if TALKS in meaning or LISTENS in meaning]
        if codes == loose and any(meant_mode(meaning, {}) != {"talk": talk, "listen": listen} for meaning in loose[:1]):
            return True
    return False


def _keys(show: Show, mapping: PlotMapping, spoken: set[Path]) -> Iterator[str]:
    count = sum(len(device.keys) for device in show.devices.values())
    if ("devices", "keys") not in spoken:
        if count:
            yield f"{counted(count, 'key')}: the mapping has no place for keys"
        return
    own = any(table.each == "key" or (table.across and table.across.is_ == "key") for table in mapping.tables.values())
    if not own:
        otherwise = sum(1 for device in show.devices.values() if not _by_numbers(show, device))
        if otherwise:
            yield f"the keys of {counted(otherwise, 'device')} that do not stand by their channels' numbers"
    elif any(table.also == "channels" for table in mapping.tables.values()):
        off = sum(1 for _ in _off_keys(show))
        if off:
            yield f"{counted(off, 'channel')} under no key"


def _by_numbers(show: Show, device: Device) -> bool:
    user = show.users.get(device.user or "")
    listed = {f"A{channel.number}": name for name, channel in user.channels.items()} if user else {}
    return dict(device.keys) == listed


def _off_keys(show: Show) -> Iterator[str]:
    """The channels that stand under no key of their user's devices."""
    under: dict[str, set[str]] = {}
    for device in show.devices.values():
        if device.user is not None:
            under.setdefault(device.user, set()).update(device.keys.values())
    for name, user in show.users.items():
        yield from (channel for channel in user.channels if channel not in under.get(name, set()))


def _extra(show: Show, mapping: PlotMapping, trees: Mapping[str, Any]) -> Iterator[str]:
    """Further columns that are not of this plot."""
    kept = show.head.extra.get(PLOTS)
    places = kept if isinstance(kept, dict) else {}
    firsts: dict[str, str] = {}
    known: dict[str, set[str]] = {}
    for name, table in mapping.tables.items():
        first = firsts.setdefault(table.each, name)
        place = places.get(table.kept_as(name))
        heads = place.get("heads", []) if isinstance(place, dict) else []
        section = SECTION_OF.get(table.each, table.each)
        known.setdefault(section, set()).update(extra_key(name, head, first) for head in heads)
    for section, bodies in trees.items():
        own = known.get(section, set())
        keys = known.get("key", set()) if section == "devices" else set()
        count = sum(
            any(field not in own and field.partition(": ")[2] not in keys for field in tree.get("extra", {}))
            for tree in bodies.values()
        )
        if count and (section,) in spoken_fields(mapping):
            yield f"further columns of {counted(count, _ONE[section])}, which are not of this plot"


def _head(show: Show, spoken: set[Path]) -> Iterator[str]:
    tree, shape = head_tree(show.head), shape_of(Head)
    for field, value in tree.items():
        inner = shape.fields[field]
        if field in rows_of_head():
            yield counted(len(value), _HEAD.get(field, inner.words))
        elif field == "extra":
            names = [name for name in value if name not in (PLOTS, COLUMNS)]
            if names and not any(path[0] == "head" for path in spoken):
                yield f"further values of the show: {', '.join(names)}"
        elif field != "format" and not _is_said(("head", field), value, inner, spoken):
            yield f"the show's {field}"
