"""The change set as an RFC 6902 JSON Patch of the single document."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from showvc.document import SECTIONS, Show, differing, head_tree, same, to_tree
from showvc.document.pointers import join

Operation = dict[str, Any]


def json_patch(before: Show, after: Show) -> list[Operation]:
    """Operations that make `after.tree()` of `before.tree()`. Only bodies that may differ are read."""
    operations = list(_between(head_tree(before.head), head_tree(after.head), ()))
    for section in SECTIONS:
        operations += _section(before, after, section)
    return operations


def _section(before: Show, after: Show, section: str) -> Iterator[Operation]:
    old, new = before.section(section), after.section(section)
    changed = differing(old, new)
    if changed and not (len(old) and len(new)):  # an empty section is not written, so it comes and goes whole
        whole = {name: to_tree(body) for name, body in new.items()}
        yield {"op": "add", "path": join(section), "value": whole} if whole else {"op": "remove", "path": join(section)}
        return
    for name in changed:
        trees = [{name: to_tree(entries[name])} if name in entries else {} for entries in (old, new)]
        yield from _between(trees[0], trees[1], (section,))


def _between(old: Any, new: Any, steps: tuple[str, ...]) -> Iterator[Operation]:
    if isinstance(old, dict) and isinstance(new, dict):
        for name in (name for name in old if name not in new):
            yield {"op": "remove", "path": join(*steps, name)}
        for name, value in new.items():
            if name in old:
                yield from _between(old[name], value, (*steps, name))
            else:
                yield {"op": "add", "path": join(*steps, name), "value": value}
    elif not same(old, new):
        yield {"op": "replace", "path": join(*steps), "value": new}
