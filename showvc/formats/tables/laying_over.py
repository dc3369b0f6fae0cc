"""What tables say, laid over the show that is there: where they say nothing, it stays as it was."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from showvc.document import PLOTS, SECTIONS, Show, Tree, head_tree, to_tree
from showvc.formats.tables.drafts import Draft, Path, value_at

IN_PART = {"users": "channels", "devices": "keys"}
"""Fields of which tables may speak in part: what of them they are silent about stays."""
WHOLE_CHANNELS = ("users", "channels", "extra")
"""Covered where the tables say all of each channel, as our own do."""


def laid_over(current: Show, draft: Draft, keep_missing: bool) -> Draft:
    """The draft laid over a show: what its tables say nothing of, and what could not be read, stays as it was."""
    base = head_tree(current.head)
    rows = {cell.path for cell in draft.unread if cell.path and cell.path[0] not in draft.things}
    said = Said.of("head", draft, rows)
    result = Draft(said.over({name: value for name, value in base.items() if name not in draft.things}, draft.head))
    result.spots, result.values, result.unread = draft.spots, draft.values, draft.unread
    before, now = value_at(base, ("extra", PLOTS)), value_at(draft.head, ("extra", PLOTS))
    if isinstance(before, Mapping) and isinstance(now, Mapping):
        result.head["extra"][PLOTS] = {**before, **now}
    for section in draft.things:
        there = current.section(section) if section in SECTIONS else base.get(section, {})
        result.things[section] = _section_over(there, draft, section, keep_missing)
    return result


@dataclass(frozen=True, slots=True)
class Said:
    """Which fields of a thing the tables speak of, and which of their cells could not be read."""

    fields: Collection[Path]
    entries: Collection[Path]
    unread: Collection[Path]
    part: str = ""

    @classmethod
    def of(cls, section: str, draft: Draft, unread: Iterable[Path]) -> Said:
        inner = [path[1:] for path in draft.covered if path[0] == section and len(path) > 1]
        entries = [path[1:] for path in draft.entries if path[0] == section]
        part = IN_PART.get(section, "")
        return cls([path for path in inner if path[0] != part], entries, [*unread], part)

    def over(self, base: Tree, said: Tree) -> Tree:
        """A tree with what is said put in; of the fields that are spoken of, what is not said is taken out."""
        made = dict(base)
        for word in said.keys() - {path[0] for path in self.fields} - {self.part, "extra"}:
            made[word] = said[word]
        if said.get("extra"):
            made["extra"] = {**base.get("extra", {}), **said["extra"]}
        for path in self.fields:
            if value_at(said, path[:-1]) is not None and path[-1] in value_at(said, path[:-1]):
                _put(made, path, value_at(said, path))
            elif not any(path[: len(cell)] == cell for cell in self.unread):
                _take_out(made, path)
        for path in self.entries:
            if value_at(made, path) == {}:
                _take_out(made, path)
        return made


def _put(tree: Tree, path: Path, value: Any) -> None:
    for step in path[:-1]:
        inner = dict(tree.get(step, {}))
        tree[step] = inner
        tree = inner
    tree[path[-1]] = value


def _take_out(tree: Tree, path: Path) -> None:
    """Takes out what stands at this place, and the record around it where nothing is left of that."""
    holder = tree
    for step in path[:-1]:
        if not isinstance(holder.get(step), Mapping):
            return
        inner = dict(holder[step])
        holder[step] = inner
        holder = inner
    holder.pop(path[-1], None)
    if not holder and len(path) == 2:
        del tree[path[0]]


def _section_over(there: Mapping[str, Any], draft: Draft, section: str, keep_missing: bool) -> dict[str, Tree]:
    unread = _unread_of(draft, section)
    all_of = Said.of(section, draft, ())
    made: dict[str, Tree] = {}
    for name, tree in draft.things[section].items():
        base = _tree(there[name]) if name in there else {}
        said = replace(all_of, unread=unread[name]) if name in unread else all_of
        made[name] = said.over(base, tree)
        _parts_over(made[name], base, tree, draft, (section, name))
        for steps in unread.get(name, ()):
            _keep_unread(made[name], base, all_of.part, steps)
    for name, body in there.items():
        spoken = (section,) in draft.covered and not (section == "devices" and name in draft.placeless)
        if name not in made and (not spoken or keep_missing or name in unread):
            made[name] = _tree(body)
    return made


def _tree(body: Any) -> Tree:
    return body if isinstance(body, dict) else to_tree(body)


def _unread_of(draft: Draft, section: str) -> dict[str, list[Path]]:
    """The places within each thing of a section that could not be read."""
    found: dict[str, list[Path]] = {}
    for cell in draft.unread:
        if len(cell.path) > 1 and cell.path[0] == section:
            found.setdefault(cell.path[1], []).append(cell.path[2:])
    return found


# --- channels and keys ---


def _parts_over(made: Tree, base: Tree, tree: Tree, draft: Draft, path: tuple[str, str]) -> None:
    """The channels of a user and the keys of a device: those that are said, and those that nothing is said of."""
    silent, word = draft.silent.get(path, frozenset()), IN_PART.get(path[0], "")
    before, said = base.get(word, {}), tree.get(word, {})
    if not word or ((path[0], word) not in draft.covered and not said):
        return
    if word == "channels":
        found = _channels_over(before, said, draft, silent)
    else:
        found = {**{key: held for key, held in before.items() if key in silent}, **said}
    made.pop(word, None)
    if found:
        made[word] = found


def _channels_over(base: Tree, channels: Tree, draft: Draft, silent: frozenset[str]) -> Tree:
    if WHOLE_CHANNELS in draft.covered:
        return {**{name: channel for name, channel in base.items() if name in silent}, **channels}
    made: Tree = {}
    spoken = {path[2] for path in draft.covered if path[:2] == ("users", "channels") and len(path) > 2}
    for name, channel in channels.items():
        before = base.get(name, {})
        made[name] = {**{word: value for word, value in before.items() if word not in spoken}, **channel}
        if "extra" in before or "extra" in channel:
            made[name]["extra"] = {**before.get("extra", {}), **channel.get("extra", {})}
    used = {channel["number"] for channel in made.values()}
    for name in sorted(silent - made.keys()):
        first = name.partition("#")[0]
        gone = first in base and first not in made and first not in silent  # and its second channel with it
        if base[name]["number"] not in used and not gone:
            made[name] = base[name]
    return made


def _keep_unread(tree: Tree, base: Tree, word: str, steps: Path) -> None:
    """Puts back the channel or key that stood before where a cell could not be read."""
    if len(steps) < 2 or steps[0] != word:
        return
    if steps[1].startswith("="):
        numbered = {name: held for name, held in base.get(word, {}).items() if f"={held['number']}" == steps[1]}
        if numbered:
            tree[word] = {**numbered, **tree.get(word, {})}
    elif (before := value_at(base, steps[:2])) is not None:
        now = value_at(tree, steps[:2])
        kept = {**before, **now} if isinstance(before, Mapping) and isinstance(now, Mapping) else now or before
        _put(tree, steps[:2], kept)
