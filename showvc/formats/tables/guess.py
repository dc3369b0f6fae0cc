"""A mapping proposed from a file's heads and content, for a person to look at and edit."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from showvc.document import BUILT_IN_KINDS
from showvc.formats.reading import validate
from showvc.formats.tables import trees
from showvc.formats.tables.cells import Unreadable, Value, shown
from showvc.formats.tables.drafts import is_total
from showvc.formats.tables.mapping import PlotMapping, pattern, row_fields
from showvc.formats.tables.naming import new_id
from showvc.formats.tables.notation import meant_mode
from showvc.formats.tables.opening import refused
from showvc.formats.tables.plots import HEAD_ROWS, Source, heads_in, is_head
from showvc.formats.tables.sheets import Sheet, is_blank

# How the trade heads its columns; common practice, no source.
WORDS: Mapping[str, str] = {
    "name": "name position role who crew operator headset",
    "label": "label short abbr abbreviation code display",
    "department": "department dept section team",
    "critical": "critical vital safety",
    "tags": "tags tag",
    "user": "user wearer worn assigned person",
    "kind": "kind type model",
    "hardware": "hardware mac address eui",
    "place": "place where location position",
    "target": "target to party destination talks",
    "number": "number no n ch channel key button",
    "key": "key button",
    "mode": "mode function access",
    "talk": "talk",
    "listen": "listen",
    "level": "level gain volume",
    "device": "device unit panel station beltpack pack",
    "port": "port",
    "circuit": "circuit system line",
    "direction": "direction way",
    "title": "title production show",
}
_NAMES = {
    "user": "position name user role who",
    "group": "group party conference name",
    "device": "unit device pack beltpack station panel name",
}
MODES = {
    "t": "talks/none", "talk": "talks/none", "l": "none/listens", "r": "none/listens", "listen": "none/listens",
    "tl": "talks/listens", "tr": "talks/listens", "x": "talks/listens", "talklisten": "talks/listens",
    "lt": "latch/listens", "o": "open/listens",
}  # fmt: skip
_USUAL = "none/switchable"
_CODE = re.compile(r"[A-Za-z+/✓●-]{1,4}|[Tt]alk.{0,9}|[Ll]isten.{0,9}")


@dataclass(frozen=True, slots=True)
class Seen:
    """A table as the guess sees it: where it stands, its heads, and some values of each column."""

    place: dict[str, Any]
    title: str
    columns: Mapping[str, Sequence[Value]]

    def texts(self, head: str) -> list[str]:
        return [shown(value).strip() for value in self.columns[head] if value is not None]


def guess(source: Source) -> PlotMapping:
    """A mapping for a file of somebody else's. ShowError where nothing in it looks like a plot."""
    seen = _sheets(source.book) if source.book is not None else _lists(source.tree)
    tables: dict[str, Any] = {}
    for table in seen:
        made = _table(table, None if source.book is not None else _around(table, tables))
        if made is not None:
            tables[new_id(table.title, "tables", tables)] = {**table.place, **made}
    mapping, problems = validate(PlotMapping, {"mapping": 1, "tables": tables, "missing": "keep"})
    if mapping is None or not tables:
        way_out = "write a mapping by hand: showvc import --help names an example"
        raise refused(source.file, "holds nothing that looks like a plot", way_out)
    assert not problems, "a mapping that was made has no problems"
    return mapping


# What there is


def _sheets(book: Mapping[str, Sheet]) -> Iterator[Seen]:
    for name, sheet in book.items():
        number = _head_row(sheet)
        if number is None:
            continue
        heads = heads_in(sheet, number)
        below = sheet.rows[number + 1 :]
        rows = [row for row in below if not (is_blank(row) or is_total(row) or is_head(row, heads))][:400]
        columns = {head: [row[place] if place < len(row) else None for row in rows] for place, head in heads.items()}
        place: dict[str, Any] = {"sheet": name} if len(book) > 1 or number else {}
        if number:
            place["head"] = number + 1
        yield Seen(place, name, columns)


def _head_row(sheet: Sheet) -> int | None:
    """The first rows' one with the most different short texts, known words counting double."""
    best, most = None, 1
    for number, row in enumerate(sheet.rows[:HEAD_ROWS]):
        texts = {value.strip() for value in row if isinstance(value, str) and 0 < len(value.strip()) < 40}
        worth = len(texts) + sum(bool(_fields(text)) for text in texts)
        follows = any(not is_blank(later) for later in sheet.rows[number + 1 : number + 4])
        if worth > most and follows:
            best, most = number, worth
    return best


def _lists(tree: Any) -> Iterator[Seen]:
    found: dict[str, list[trees.Branch]] = {}
    for item in tree if isinstance(tree, list) else [tree]:
        _walk(item, "", 0, found)
    paths = [path for path in found if path]
    root = [*tree] if isinstance(tree, dict) else []
    top = root[0] if len(root) == 1 and isinstance(tree[root[0]], dict) else "."
    for path in [top, *(path for path in paths if path != top)]:
        below = trees.claimed(path, paths)
        columns: dict[str, list[Value]] = {}
        for branch in [*trees.branches(tree, path)][:200]:
            for head, value in trees.leaves(branch, below, frozenset()).items():
                _add_leaf(columns, head, value)
        title = path.rpartition("/")[2] if path != "." else "rows" if isinstance(tree, list) else "show"
        yield Seen({"rows": path}, title, columns)


def _add_leaf(columns: dict[str, list[Value]], head: str, value: Any) -> None:
    if isinstance(value, dict):
        for name, inner in value.items():
            _add_leaf(columns, f"{head}/{name}", inner)
    elif isinstance(value, str | int | float) and not head.endswith("/"):
        columns.setdefault(head, []).append(value)


def _walk(node: Any, path: str, depth: int, found: dict[str, list[trees.Branch]]) -> None:
    """Finds the paths at which rows stand: lists of maps, and in XML what comes more than once."""
    if depth > 12 or not isinstance(node, dict):
        return
    for name, value in node.items():
        place = f"{path}/{name}".lstrip("/")
        items = value if isinstance(value, list) else [value]
        maps = [item for item in items[:200] if isinstance(item, dict)]
        if maps and (isinstance(value, list) or _is_thing(maps[0])):
            found.setdefault(place, [])
        for item in maps:
            _walk(item, place, depth + 1, found)


def _is_thing(node: Mapping[str, Any]) -> bool:
    """Whether a map within a row looks like a thing of its own: it has a name and a hardware address."""
    words = {field for head in node for field in _fields(head)}
    inner = {field for value in node.values() if isinstance(value, dict) for head in value for field in _fields(head)}
    return "name" in words and "hardware" in words | inner


# What it says


def _fields(head: str) -> list[str]:
    """What a head may mean, the likeliest first."""
    words = re.findall(r"[a-z]+", head.rpartition("/")[2].lower())
    return [field for field, known in WORDS.items() if set(known.split()) & set(words)]


def _around(seen: Seen, tables: Mapping[str, Any]) -> str:
    """Where a row of a tree finds the name of the position that it stands in: `../name`; empty where it is in none."""
    own = trees.steps_of(seen.place["rows"])
    for table in reversed([*tables.values()]):
        steps = trees.steps_of(table["rows"])
        if table["each"] == "user" and len(steps) < len(own) and own[: len(steps)] == steps:
            words = {field: head for head, field in table["columns"].items()}
            name = next((words[word] for word in ("name", "label", "id") if word in words), "name")
            return "../" * (len(own) - len(steps)) + name
    return "../name" if len(own) > 1 else ""


def _table(seen: Seen, around: str | None) -> dict[str, Any] | None:
    """A table as proposed. `around` names the position that a row of a tree stands in; None for sheets."""
    across = None if around is not None else _across(seen)
    left = [head for head in seen.columns if across is None or head not in across.heads]
    each = _each(seen, left, across)
    if each is None:
        return None
    columns = _columns(seen, left, each, around)
    made: dict[str, Any] = {"each": each, "columns": columns}
    if across is not None:
        others = [head for head in left if head not in columns and pattern(across.form).fullmatch(head)]
        made["across"] = {
            "is": across.kind,
            "heads": across.form,
            "cell": across.cell,
            **({"except": others} if others else {}),
        }
        if across.kind == "key":
            made["also"] = "channels"
    number = next((head for head, field in columns.items() if field == "number"), "")
    if each == "channel" and re.search(r"key|button", f"{number} {seen.title}", re.IGNORECASE):
        made["also"] = "keys"
    codes = _codes(seen, columns, across)
    if codes:
        made["codes"] = codes
    return made if _enough(made) else None


def _enough(made: Mapping[str, Any]) -> bool:
    said = {*made["columns"].values()}
    needed = {"channel": {"user", "target"}, "key": {"device", "key", "target"}, "show": {"title"}}.get(made["each"])
    return needed <= said if needed else bool(said & {"name", "label", "id", "circuit"})


@dataclass(frozen=True, slots=True)
class _Across:
    kind: str
    heads: tuple[str, ...]
    form: str
    cell: str
    codes: tuple[str, ...]


def _across(seen: Seen) -> _Across | None:
    numbered = _numbered(seen)
    if numbered is not None:
        return numbered
    found, codes = [], Counter[str]()
    for head in seen.columns:
        texts = seen.texts(head)
        if texts and not _fields(head) and all(_CODE.fullmatch(text) for text in texts) and len({*texts}) <= 6:
            found.append(head)
            codes.update(texts)
    likely = [head for head in found if {*seen.texts(head)} & {code for code, count in codes.items() if count > 1}]
    if len(likely) < 2 or not any(_plain_mode(code) for code in codes):
        return None
    used = {text for head in likely for text in seen.texts(head)}
    # A group may be called by a word that heads other columns too, as Production or Stage; its codes tell.
    named = [head for head in seen.columns if _fields(head) and seen.texts(head) and used.issuperset(seen.texts(head))]
    likely = [head for head in seen.columns if head in {*likely, *named}]
    return _Across("target", tuple(likely), "{}", "{mode}", tuple(sorted(used)))


def _numbered(seen: Seen) -> _Across | None:
    """Columns such as `Key 1`, `Key 2` or `Ch 01`, `Ch 02`."""
    groups: dict[str, list[str]] = {}
    for head in seen.columns:
        found = re.fullmatch(r"(.*?)([A-Z]?[0-9]{1,3})", head)
        if found:
            groups.setdefault(found[1], []).append(head)
    if not groups:
        return None
    prefix, heads = max(groups.items(), key=lambda item: len(item[1]))
    if len(heads) < 2:
        return None
    kind = (
        "number"
        if re.fullmatch(r"\s*(ch|chan|channel)?\.?\s*", prefix, re.IGNORECASE)
        and not re.match("[A-Z]", heads[0][len(prefix) :])
        else "key"
    )
    texts = [text for head in heads for text in seen.texts(head)]
    cell = next((form for form in _CELLS if texts and all(pattern(form).fullmatch(text) for text in texts)), "{target}")
    codes = {
        found["mode"] for text in texts if (found := pattern(cell).fullmatch(text)) and "mode" in found.groupdict()
    }
    if codes and not all(_CODE.fullmatch(code) for code in codes):
        cell, codes = "{target}", set()
    return _Across(kind, tuple(heads), prefix + "{}", cell, tuple(sorted(codes)))


_CELLS = ("{target} ({mode})", "{target} [{mode}]", "{target}: {mode}", "{target} {mode}")


def _each(seen: Seen, left: Sequence[str], across: _Across | None) -> str | None:
    if across is not None:
        return "device" if across.kind == "key" else "user"
    words = {field for head in left for field in _fields(head)}
    title = seen.title.lower()
    rows = max((len(values) for values in seen.columns.values()), default=0)
    if "target" in words and "port" in words:
        return "bridge"
    if ("target" in words or "mode" in words or "#text" in left) and words & {"number", "key"}:
        return "key" if "device" in words and not words & {"user", "name"} else "channel"
    if rows == 1 and "title" in words:
        return "show"
    if words & {"hardware", "kind"}:
        return "device"
    if "critical" in words or re.search(r"group|part(y|ies)|conference", title):
        return "group"
    return "user" if "name" in words else None


def _columns(seen: Seen, left: Sequence[str], each: str, around: str | None) -> dict[str, str]:
    allowed = [field for field in row_fields(each) if field != "id"]
    columns: dict[str, str] = {}
    name = _name_column(left, each)
    if each in _NAMES and name is not None:
        columns[name] = "name"
    for head in left:
        options = [field for field in _options(head, each) if field in allowed and field not in columns.values()]
        if head not in columns and options:
            columns[head] = options[0]
    if around is not None:
        _tree_columns(seen, columns, each, around)
    return {head: columns[head] for head in (*left, *columns) if head in columns}


def _options(head: str, each: str) -> list[str]:
    """What a head may be for this kind of row: a position names a user, and is the user of a channel or device."""
    found = _fields(head)
    words = set(re.findall(r"[a-z]+", head.lower()))
    if re.search(r"\bids?\b|\bid\b", head.lower()) and not found:
        return ["id"]
    if each in ("channel", "device") and words & {"position", "role", "who", "name"}:
        return ["user", *found]
    if each == "bridge" and words & {"unit", "interface"}:
        return ["device", *found]
    return found


def _name_column(left: Sequence[str], each: str) -> str | None:
    for word in _NAMES.get(each, "").split():
        for head in left:
            if word in re.findall(r"[a-z]+", head.rpartition("/")[2].lower()):
                return head
    return None


def _tree_columns(seen: Seen, columns: dict[str, str], each: str, around: str) -> None:
    """A row within a row belongs to the one around it; a row that is a text names its target."""
    if each == "channel" and "#text" in seen.columns and "target" not in columns.values():
        columns["#text"] = "target"
    if each in ("channel", "device") and "user" not in columns.values() and around:
        columns[around] = "user"


def _codes(seen: Seen, columns: Mapping[str, str], across: _Across | None) -> dict[str, dict[str, str]]:
    codes: dict[str, dict[str, str]] = {}
    modes = [*(across.codes if across else ())]
    for head, field in columns.items():
        texts = sorted({*seen.texts(head)}) if head in seen.columns else []
        if field == "mode":
            modes += texts
        elif field == "kind" and len(texts) < 40:
            kinds = {text: _kind(text) for text in texts if text not in BUILT_IN_KINDS}
            codes["kind"] = {text: kind for text, kind in kinds.items() if kind is not None}
        elif field == "critical" and len(texts) == 1 and texts[0].lower() not in ("yes", "x", "true", "1"):
            codes["critical"] = {texts[0]: "yes"}
    if modes:
        codes["mode"] = {text: _plain_mode(text) or _USUAL for text in dict.fromkeys(modes) if not _is_mode(text)}
    return {field: said for field, said in codes.items() if said}


def _plain_mode(text: str) -> str | None:
    return MODES.get(re.sub(r"[^a-z]", "", text.lower()))


def _is_mode(text: str) -> bool:
    try:
        return bool(meant_mode(text, {}))
    except Unreadable:
        return False


def _kind(text: str) -> str | None:
    """The built-in kind that a type's name reminds of: its word and its number of keys; the number alone."""
    number = re.search(r"[0-9]+", text)
    counted = [kind for kind in BUILT_IN_KINDS if number and kind.partition("-")[2] == number[0]]
    said = [kind for kind in counted if any(part in text.lower() for part in _CALLED[kind.partition("-")[0]])]
    keyed = [kind for kind in counted if not kind.startswith("ports")]
    return next(iter(said or (keyed if re.search("key|button", text, re.IGNORECASE) else ())), None)


_CALLED = {"pack": ("pack", "belt"), "desk": ("desk",), "panel": ("panel",), "ports": ("interface", "port")}
