"""What tables say, laid over the show that is there: where they say nothing, it stays as it was."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from showvc.document import PLOTS, SECTIONS, Show, Tree, head_tree, to_tree
from showvc.formats.tables.drafts import Draft


def laid_over(current: Show, draft: Draft, keep_missing: bool) -> Draft:
    """The draft laid over a show: what its tables say nothing of, and what could not be read, stays as it was."""
    result = Draft(_head_over(current, draft), spots=draft.spots, values=draft.values, unread=draft.unread)
    for section in SECTIONS:
        result.things[section] = _section_over(current, draft, section, keep_missing)
    return result


def _whole(draft: Draft, section: str) -> bool:
    """Whether a section comes from our own sheet of it, which says everything."""
    return section in draft.covered and not any(
        word.startswith(f"{section}/") and word.count("/") == 1 for word in _mapped(draft)
    )


def _mapped(draft: Draft) -> set[str]:
    own_grids = {"users/channels", "devices/keys"}
    return draft.covered - own_grids


def _section_over(current: Show, draft: Draft, section: str, keep_missing: bool) -> dict[str, Tree]:
    there = current.section(section)
    whole = _whole(draft, section)
    unread = _unread_of(draft, section)
    absent = [column.path for column in draft.absent if column.section == section]
    made: dict[str, Tree] = {}
    for name, tree in draft.things[section].items():
        base = to_tree(there[name]) if name in there else None
        failed = (section, name) in draft.made and draft.made[section, name][1] is None
        if base is None:
            if not failed:
                made[name] = tree
        elif failed:
            made[name] = {**base, **{word: value for word, value in tree.items() if word != "extra"}}
        else:
            made[name] = _thing_over(base, tree, draft, (section, name), whole)
            _keep_unread(made[name], base, (*unread.get(name, ()), *absent))
    for name, body in there.items():
        spoken = section in draft.covered and not (section == "devices" and name in draft.placeless)
        if name not in made and (not spoken or keep_missing or name in unread):
            made[name] = to_tree(body)
    return made


def _thing_over(base: Tree, tree: Tree, draft: Draft, path: tuple[str, str], whole: bool) -> Tree:
    made, section = dict(tree), path[0]
    silent = draft.silent.get(path, frozenset())
    for word, value in base.items():
        covered = f"{section}/{word}" in draft.covered or (whole and word not in ("channels", "keys"))
        if word == "extra" and not whole:
            made["extra"] = {**value, **tree.get("extra", {})}
        elif word == "channels" and covered and not _own_channels(draft):
            made["channels"] = _channels_over(value, tree.get("channels", {}), draft, silent)
        elif word == "keys" and covered:
            made["keys"] = {**{key: held for key, held in value.items() if key in silent}, **tree.get("keys", {})}
        elif not covered and word not in tree:
            made[word] = value
    return made


def _own_channels(draft: Draft) -> bool:
    """Our own sheet of channels says all fields of each."""
    return "users/channels/number" not in draft.covered


def _channels_over(base: Tree, channels: Tree, draft: Draft, silent: frozenset[str]) -> Tree:
    made: Tree = {}
    for name, channel in channels.items():
        before = base.get(name, {})
        kept = {word: value for word, value in before.items() if f"users/channels/{word}" not in draft.covered}
        made[name] = {**kept, **channel}
        if "extra" in before or "extra" in channel:
            made[name]["extra"] = {**before.get("extra", {}), **channel.get("extra", {})}
    used = {channel["number"] for channel in made.values()}
    for name in sorted(silent - made.keys()):
        first = name.partition("#")[0]
        gone = first in base and first not in made and first not in silent  # and its second channel with it
        if base[name]["number"] not in used and not gone:
            made[name] = base[name]
    return made


def _unread_of(draft: Draft, section: str) -> dict[str, list[tuple[str, ...]]]:
    """The places within each thing of a section that could not be read."""
    found: dict[str, list[tuple[str, ...]]] = {}
    for unread in draft.unread:
        if len(unread.path) > 1 and unread.path[0] == section:
            found.setdefault(unread.path[1], []).append(unread.path[2:])
    return found


def _keep_unread(tree: Tree, base: Tree, unread: Sequence[tuple[str, ...]]) -> None:
    """Puts back what stood before where a cell could not be read."""
    for steps in unread:
        if steps[:1] == ("channels",) and len(steps) == 2 and steps[1].startswith("="):
            _keep_number(tree, base, int(steps[1][1:]))
        elif steps:
            _put_back(tree, base, steps)


def _keep_number(tree: Tree, base: Tree, number: int) -> None:
    channels = tree.setdefault("channels", {})
    for name, channel in base.get("channels", {}).items():
        if channel["number"] == number:
            channels.setdefault(name, channel)


def _put_back(tree: Tree, base: Tree, steps: tuple[str, ...]) -> None:
    value: Any = base
    for step in steps:
        if not isinstance(value, dict) or step not in value:
            return
        value = value[step]
    for step in steps[:-1]:
        tree = tree.setdefault(step, {})
    now = tree.setdefault(steps[-1], value)
    if isinstance(now, dict) and isinstance(value, dict):
        tree[steps[-1]] = {**value, **now}


_HEAD_SHEETS = ("required", "kinds", "accepted")


def _head_over(current: Show, draft: Draft) -> Tree:
    base = head_tree(current.head)
    made = {word: value for word, value in draft.head.items() if value != {}}
    whole = "head" in draft.covered
    for word, value in base.items():
        covered = word in draft.covered if word in _HEAD_SHEETS else whole or f"head/{word}" in draft.covered
        if not covered and word not in made:
            made[word] = value
    for word in _HEAD_SHEETS:
        _keep_rows(made, base, draft, word)
    if not whole and "extra" in base:
        made["extra"] = {**base["extra"], **draft.head.get("extra", {})}
        before, now = base["extra"].get(PLOTS), draft.head.get("extra", {}).get(PLOTS)
        if isinstance(before, dict) and isinstance(now, dict):
            made["extra"][PLOTS] = {**before, **now}
    return made


def _keep_rows(made: Tree, base: Tree, draft: Draft, word: str) -> None:
    """Puts back what stood in a row of show.yaml before where a cell could not be read, or its column is gone."""
    absent = [column.path for column in draft.absent if column.section == word]
    unread = _unread_of(draft, word)
    for name, before in base.get(word, {}).items():
        if name in unread:
            made.setdefault(word, {}).setdefault(name, before)
        if name in made.get(word, {}):
            _keep_unread(made[word][name], before, (*unread.get(name, ()), *absent))


def kept_columns(current: Show, draft: Draft) -> list[str]:
    """A sentence for each column of ours that is gone from its sheet, and holds something in the show."""
    found: dict[str, list[str]] = {}
    trees = {section: _trees(current, section) for section in {column.section for column in draft.absent}}
    for column in draft.absent:
        if any(_holds(tree, column.path) for tree in trees[column.section]):
            found.setdefault(column.sheet, []).append(column.head)
    return [f"sheet {sheet}: no column {', '.join(heads)}; what was there stays" for sheet, heads in found.items()]


def _trees(show: Show, section: str) -> list[Tree]:
    if section in SECTIONS:
        return [to_tree(body) for body in show.section(section).values()]
    return [*head_tree(show.head).get(section, {}).values()]


def _holds(tree: Tree, path: Sequence[str]) -> bool:
    if path[-1].startswith("="):
        return any(channel["number"] == int(path[-1][1:]) for channel in tree.get("channels", {}).values())
    value: Any = tree
    for step in path:
        if not isinstance(value, dict) or step not in value:
            return False
        value = value[step]
    return True
