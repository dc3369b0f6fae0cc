"""What an import would do: the show that it makes, the cells it could not read, who was taken for whom."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from showvc.document import PLOTS, SECTIONS, Problem, Show, ShowError, Tree, head_tree, to_tree
from showvc.formats import nodes
from showvc.formats.tables import own
from showvc.formats.tables.assemble import assemble
from showvc.formats.tables.cells import Unread
from showvc.formats.tables.drafts import Draft, finished
from showvc.formats.tables.identity import Answers, Doubt
from showvc.formats.tables.mapping import PlotMapping
from showvc.formats.tables.opening import refused
from showvc.formats.tables.plots import Source, read_plot
from showvc.formats.tables.sheets import Progress, read_text_table, read_xlsx_noted
from showvc.formats.tables.strangers import strangers
from showvc.formats.tables.textfiles import csv_book
from showvc.formats.tables.trees import read_json, read_xml_noted

WORKBOOKS = (".xlsx", ".xlsm")
TEXTS = (".csv", ".tsv", ".txt")
TREES = (".json", ".xml")

Files = bytes | Mapping[str, bytes]
"""A file's bytes, or those of the text tables of a folder by name."""


@dataclass(frozen=True, slots=True)
class ImportPlan:
    """What an import would do, before anything is done.

    `show` is the show as it would stand; None while `doubts` are open. `matches` holds (section, row, id, score) for
    rows that were taken for a thing of the show. `notes` tell what was passed over. `stamp` names the snapshot that
    the file came from, where it says so: the base of a merge.
    """

    show: Show | None
    unread: tuple[Unread, ...] = ()
    matches: tuple[tuple[str, str, str, float], ...] = ()
    doubts: tuple[Doubt, ...] = ()
    notes: tuple[str, ...] = ()
    stamp: str | None = None
    when: str | None = None


def gone(current: Show, then: Show) -> list[str]:
    """How much of each section an import takes out: `3 of 48 users`."""
    counted = ((section, set(current.section(section)), set(then.section(section))) for section in SECTIONS)
    return [f"{len(was - now)} of {len(was)} {section}" for section, was, now in counted if was - now]


def open_source(data: Files, file: str) -> Source:
    """A file of any kind that tables come in, read but not yet understood. ShowError for every other."""
    ending = "." + file.rpartition(".")[2].lower() if isinstance(data, bytes) else ""
    if isinstance(data, Mapping):
        return Source(book=csv_book(data, file), file=file)
    if ending in WORKBOOKS or data[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        book, notes = read_xlsx_noted(data, file)
        return Source(book=book, file=file, notes=notes)
    if ending in TEXTS:
        name = file.replace("\\", "/").rpartition("/")[2].rpartition(".")[0]
        return Source(book={name: read_text_table(data, file, name)}, file=file)
    if ending == ".json":
        return Source(tree=read_json(data, file), file=file)
    if ending == ".xml":
        tree, notes = read_xml_noted(data, file)
        return Source(tree=tree, file=file, notes=notes)
    allowed = ", ".join((*WORKBOOKS, *TEXTS, *TREES))
    raise refused(file, "is no table that showvc reads", f"it reads {allowed}, and folders of .csv files")


def plan_import(
    current: Show | None,
    data: Files,
    file: str,
    mapping: PlotMapping | None = None,
    answers: Answers | None = None,
    progress: Progress | None = None,
) -> ImportPlan:
    """The plan of importing a file into a show (or on its own, `current` None).

    Tables of our own need no mapping. `answers` settles doubts: section → row's name → id or `new`. `progress` is
    told of each row. ShowError when the file cannot be read at all.
    """
    with _collector_paused():
        return _plan(current, data, file, mapping, answers or {}, progress)


@contextmanager
def _collector_paused() -> Iterator[None]:
    """A plot makes a million objects and drops none: looking for garbage among them takes two fifths of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _plan(
    current: Show | None,
    data: Files,
    file: str,
    mapping: PlotMapping | None,
    answers: Answers,
    progress: Progress | None,
) -> ImportPlan:
    source = open_source(data, file)
    if mapping is not None:
        return _mapped_plan(current, source, mapping, answers, progress)
    if source.book is None or not own.is_own_book(source.book):
        raise refused(
            file, "is not a table of showvc's own", f"have a mapping of it proposed: showvc import {file} --guess"
        )
    draft, about = own.read_tables(source.book, file, progress)
    show = finished(_over(current, draft, keep_missing=False)) if current is not None else finished(draft)
    notes = (*source.notes, *draft.skipped, *strangers(draft, show, current))
    return ImportPlan(show, tuple(draft.unread), notes=notes, stamp=about.stamp, when=about.when)


def _mapped_plan(
    current: Show | None, source: Source, mapping: PlotMapping, answers: Answers, progress: Progress | None
) -> ImportPlan:
    tables = read_plot(source, mapping)
    draft, found = assemble(tables, mapping, current, answers, progress)
    finished(draft)
    show = finished(_over(current, draft, mapping.missing == "keep")) if current is not None else finished(draft)
    strange = strangers(draft, show, current)
    notes = (*source.notes, *draft.skipped, *strange, *(note for table in tables for note in table.notes))
    return ImportPlan(
        None if found.doubts else show, tuple(draft.unread), tuple(found.matches), tuple(found.doubts), notes
    )


def _over(current: Show, draft: Draft, keep_missing: bool) -> Draft:
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
            _keep_unread(made[name], base, unread.get(name, ()))
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


_HEAD_SHEETS = ("required", "kinds", "quiet")


def _head_over(current: Show, draft: Draft) -> Tree:
    base = head_tree(current.head)
    made = {word: value for word, value in draft.head.items() if value != {}}
    whole = "head" in draft.covered
    for word, value in base.items():
        covered = word in draft.covered if word in _HEAD_SHEETS else whole or f"head/{word}" in draft.covered
        if not covered and word not in made:
            made[word] = value
    if not whole and "extra" in base:
        made["extra"] = {**base["extra"], **draft.head.get("extra", {})}
        before, now = base["extra"].get(PLOTS), draft.head.get("extra", {}).get(PLOTS)
        if isinstance(before, dict) and isinstance(now, dict):
            made["extra"][PLOTS] = {**before, **now}
    return made


def read_answers(data: bytes, file: str) -> dict[str, dict[str, str]]:
    """The answers of a file for `--accept`: section → row's name → id or `new`. ShowError with line and column.

    ```yaml
    users:
      Follow Spot One: spot-1
      Whisperer: new
    ```
    """
    node, problems = nodes.parse(nodes.decode(data, file), file)
    answers: dict[str, dict[str, str]] = {}
    pairs = node.pairs if isinstance(node, nodes.Mapping) else {}
    for section, (name, inner) in pairs.items():
        if section not in SECTIONS:
            allowed = f"allowed: {', '.join(SECTIONS)}"
            problems.append(Problem(f"unknown section {section!r}", file, name.line + 1, name.column + 1, allowed))
        elif isinstance(inner, nodes.Mapping):
            answers[section] = {row: _answer(value, file, problems) for row, (_, value) in inner.pairs.items()}
        else:
            wanted = "write 'NAME OF THE ROW: id' or 'NAME OF THE ROW: new', one a line"
            problems.append(Problem("no answers stand here", file, inner.line + 1, inner.column + 1, wanted))
    if problems:
        raise ShowError(problems)
    return answers


def _answer(value: nodes.Node, file: str, problems: list[Problem]) -> str:
    if isinstance(value, nodes.Scalar) and value.text:
        return value.text
    problems.append(Problem("an id or 'new' is wanted", file, value.line + 1, value.column + 1))
    return ""


def answers_text(doubts: tuple[Doubt, ...]) -> str:
    """A file of answers to fill in: each doubt with its best candidate, and the others in a comment."""
    from showvc.formats.writing import scalar

    lines: list[str] = []
    for section in SECTIONS:
        found = [doubt for doubt in doubts if doubt.section == section]
        lines += [f"{section}:"] if found else []
        for doubt in found:
            others = ", ".join(f"{name} ({score:.2f})" for name, score in doubt.candidates)
            lines += [f"  # {doubt.why}: {others}; or: new", f"  {scalar(doubt.row)}: {doubt.candidates[0][0]}"]
    return "".join(line + "\n" for line in lines)
