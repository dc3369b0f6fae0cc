"""A mapping file: how a table, JSON or XML file of somebody else's says what a show says.

The format is explained in `explained.py`, which stands at the head of every proposed mapping, and by the example
`fixtures/plots/example.csv.mapping.yaml`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import Field

from showvc.document import SECTIONS, Body, Channel, Head, Problem, Shape, ShowError, near, shape_of
from showvc.document.cells import cells_of, in_one_cell
from showvc.document.names import ID
from showvc.document.values import Id as Ref
from showvc.document.values import Tags, Text
from showvc.formats import nodes
from showvc.formats.reading import placed, read_body
from showvc.formats.tables.cells import Unreadable
from showvc.formats.tables.layout import spread_fields
from showvc.formats.tables.notation import meant_mode

Each = Literal["user", "group", "device", "bridge", "circuit", "carrier", "channel", "key", "show"]
SECTION_OF: Mapping[str, str] = {section.removesuffix("s"): section for section in SECTIONS}
NEEDED: Mapping[str, tuple[str, ...]] = {"channel": ("user", "target"), "key": ("device", "key", "target")}
_BESIDE: Mapping[str, tuple[str, ...]] = {"channel": ("user", "target", "mode"), "key": NEEDED["key"], "show": ()}
"""What a row of these kinds says that is no field of it. A `mode` says talk and listen in one."""
ACROSS_ROWS = {"target": ("user",), "number": ("user",), "key": ("device",)}


def row_fields(each: str) -> dict[str, Shape | None]:
    """What a column can be, for each kind of row: a path within the body, with its shape; None for what is no field."""
    made: dict[str, Shape | None] = dict.fromkeys(_BESIDE.get(each, ("id",)))
    model = row_model(each)
    cells = cells_of(shape_of(model)) if model else ()
    return made | {"/".join(steps): shape for steps, shape in cells if steps != ("format",)}


def row_model(each: str) -> type[Body] | None:
    """What a row of this kind is one of; None for a key, which is an entry of a device."""
    return {"channel": Channel, "key": None, "show": Head}.get(each) or SECTIONS.get(SECTION_OF.get(each, ""))


def field_shape(each: str, word: str) -> Shape | None:
    """The shape of what a column can be; None where that is no field. `lines/alarm` is the whole use of a line."""
    fields, model = row_fields(each), row_model(each)
    if word in fields or model is None:
        return fields.get(word)
    first, *rest = word.split("/")
    spread = spread_fields(model).get(first)
    if spread is None or not rest or not ID.fullmatch(rest[0]):
        return None
    found = spread.along(rest)
    return found if found is not None and (found.kind not in ("map", "free") or in_one_cell(found)) else None


def is_mode(each: str, word: str) -> bool:
    """Whether a column says talk and listen in one: of a channel, or of a line."""
    shape = field_shape(each, word)
    return word == "mode" or (shape is not None and {"talk", "listen"} <= shape.fields.keys())


def across_fields(kind: str) -> tuple[str, ...]:
    """What a cell across can be made of, by what the heads say."""
    if kind == "key":
        return ("target", "mode")
    channel = [word for word, shape in row_fields("channel").items() if shape is not None and word != "number"]
    return (*(("target",) if kind == "number" else ()), "mode", *channel)


class Across(Body):
    """The columns whose heads are targets, channel numbers or keys."""

    is_: Annotated[Literal["target", "number", "key"], Field(alias="is")]
    heads: Text = "{}"
    cell: Text = ""
    except_: Annotated[Tags, Field(alias="except")] = frozenset()

    @property
    def says(self) -> str:
        return self.cell or ("{mode}" if self.is_ == "target" else "{target}")


class MappedTable(Body):
    """One table, or one list of a tree: where it stands, and what its rows and columns are."""

    sheet: Text | None = None
    file: Text | None = None
    rows: Text | None = None
    head: Annotated[int, Field(ge=1, le=1000)] | None = None
    under: Annotated[int, Field(ge=0, le=20)] = 0
    each: Each
    columns: Mapping[Text, Text] = {}
    fill: Tags = frozenset()
    set: Mapping[Text, Text] = {}
    across: Across | None = None
    codes: Mapping[Text, Mapping[Text, Text]] = {}
    also: Literal["keys", "channels"] | None = None

    @property
    def place(self) -> str:
        """The sheet, file or path that it is read from; empty where there is but one."""
        return self.sheet or self.file or self.rows or ""

    def kept_as(self, name: str) -> str:
        """Under which name the show keeps the place of this table's columns: no two plots share one by chance."""
        return f"{name} ({self.place})" if self.place else name


class PlotMapping(Body):
    """A whole mapping file."""

    mapping: Literal[1] = 1
    tables: Mapping[Ref, MappedTable]
    missing: Literal["remove", "keep"] = "remove"


def read_mapping(data: bytes, file: str) -> PlotMapping:
    """The mapping that a file holds. ShowError with every mistake, each with its line and column."""
    node, problems = nodes.parse(nodes.decode(data, file), file)
    found, more = read_body(PlotMapping, node, file)
    problems += more
    if found is not None:
        wrong = [mistake for name, table in found.tables.items() for mistake in _mistakes(name, table)]
        problems += [placed(problem, node, file, loc) for problem, loc in wrong]
        if not found.tables:
            problems.append(Problem("maps no table", file, 1, 1, "add one under 'tables'"))
    if problems or found is None:
        raise ShowError(problems)
    return found


Mistake = tuple[Problem, tuple[str, ...]]


def _mistakes(name: str, table: MappedTable) -> list[Mistake]:
    at = ("tables", name)
    fields = [*row_fields(table.each), *(across_fields(table.across.is_) if table.across else ())]
    columns = [(field, fields, ("columns", head)) for head, field in table.columns.items()]
    columns += [(field, fields, ("set", field)) for field in table.set]
    columns += [(field, [*fields, *_ALSO], ("codes", field)) for field in table.codes]
    found = [
        _unknown(field, known, (*at, *place)) for field, known, place in columns if not field_shape(table.each, field)
    ]
    found += _repeated(table, at) + _missing(table, at) + _about_across(table, at)
    modes = [field for field in table.codes if is_mode(table.each, field)]
    found += [_code(field, cell, said, at) for field in modes for cell, said in table.codes[field].items()]
    return [mistake for mistake in found if mistake is not None]


_ALSO = ("target", "user", "mode", "key")


def _unknown(field: str, fields: list[str], at: tuple[str, ...]) -> Mistake | None:
    if field in fields:
        return None
    way_out = near(field, {*fields}) or f"allowed: {', '.join(dict.fromkeys(fields))}"
    return Problem(f"{field!r} is not what a column can be here", way_out=way_out), at


def _repeated(table: MappedTable, at: tuple[str, ...]) -> list[Mistake | None]:
    seen: dict[str, str] = {}
    found: list[Mistake | None] = []
    for head, field in table.columns.items():
        if field in seen:
            problem = Problem(
                f"{field!r} stands for two columns, {seen[field]!r} and {head!r}", way_out="keep one of them"
            )
            found.append((problem, (*at, "columns", head)))
        seen[field] = head
    return found


def _missing(table: MappedTable, at: tuple[str, ...]) -> list[Mistake | None]:
    there = {*table.columns.values(), *table.set}
    found: list[Mistake | None] = []
    for field in NEEDED.get(table.each, ()):
        if field not in there:
            problem = Problem(
                f"each row is a {table.each}, and no column says its {field}", way_out=f"add 'HEAD: {field}'"
            )
            found.append((problem, (*at, "columns")))
    if table.each in ("user", "group", "device") and not there & {"name", "label", "id"}:
        problem = Problem(f"no column says which {table.each} a row is", way_out="add 'HEAD: name'")
        found.append((problem, (*at, "columns")))
    if sum(place is not None for place in (table.sheet, table.file, table.rows)) > 1:
        found.append((Problem("'sheet', 'file' and 'rows' exclude each other", way_out="keep one of them"), at))
    return found


def _about_across(table: MappedTable, at: tuple[str, ...]) -> list[Mistake | None]:
    across = table.across
    if across is None:
        return []
    found: list[Mistake | None] = []
    if table.each not in ACROSS_ROWS[across.is_]:
        rows = " or ".join(ACROSS_ROWS[across.is_])
        problem = Problem(
            f"columns that are a {across.is_} want rows that are a {rows}", way_out="change 'each' or 'is'"
        )
        found.append((problem, (*at, "across", "is")))
    if across.heads.count("{}") != 1 or re.search(r"[{}]", across.heads.replace("{}", "")):
        problem = Problem(
            f"{across.heads!r} does not say where the {across.is_} stands", way_out='write it as "Key {}"'
        )
        found.append((problem, (*at, "across", "heads")))
    named = re.findall(r"\{(.*?)\}", across.says)
    wanted = across_fields(across.is_)
    wrong = [name for name in named if name not in wanted] or re.findall(r"[{}]", re.sub(r"\{.*?\}", "", across.says))
    if wrong or len({*named}) < len(named) or (across.is_ != "target" and "target" not in named) or not named:
        problem = Problem(f"{across.says!r} is not a pattern for a cell", way_out=f"it is made of {', '.join(wanted)}")
        found.append((problem, (*at, "across", "cell")))
    return found


def _code(field: str, cell: str, said: str, at: tuple[str, ...]) -> Mistake | None:
    try:
        meant_mode(said, {})
    except Unreadable as error:
        return Problem(f"{said!r} is not a way to talk and listen", way_out=str(error)), (*at, "codes", field, cell)
    return None


def spoken_fields(mapping: PlotMapping) -> set[tuple[str, ...]]:
    """All that the tables of a mapping can say: `("users",)` for which there are, `("users", "label")` for a field.

    Of channels it is `("users", "channels", "level")`, of what stands in show.yaml `("head", "title")`.
    """
    return {field for table in mapping.tables.values() for field in _spoken_by(table)}


def _spoken_by(table: MappedTable) -> set[tuple[str, ...]]:
    words, across = {*table.columns.values(), *table.set} - {"id"}, table.across
    section = SECTION_OF.get(table.each, "head")
    filled = [steps for word in words for steps in _steps(table.each, word)] if table.each != "key" else []
    found = {(section, *steps) for steps in filled}
    found |= {(section,)} if section in SECTIONS else set()
    if table.each == "channel" or (across and across.is_ != "key") or table.also == "channels":
        said = words if table.each == "channel" else {*re.findall(r"\{(.*?)\}", across.says if across else "")}
        inner = {steps for word in said for steps in _steps("channel", word)}
        channels = ("users", "channels")
        found = {field for field in found if field[0] != "head"}
        found |= {channels, (*channels, "number"), *((*channels, *steps) for steps in inner)}
    if table.each == "key" or (across and across.is_ == "key") or table.also == "keys":
        found.add(("devices", "keys"))
    return found


def _steps(each: str, word: str) -> list[tuple[str, ...]]:
    """The fields that a column fills."""
    around = tuple(word.split("/")) if word != "mode" else ()
    return [(*around, "talk"), (*around, "listen")] if is_mode(each, word) else [around]


@cache
def pattern(text: str) -> re.Pattern[str]:
    """A pattern of a mapping as a regular expression: `{target} ({mode})`, `Key {}`."""
    parts = re.split(r"\{(.*?)\}", text)
    made = ""
    for number, part in enumerate(parts):
        # The target takes all the words it can: in `Fly Rail TL` the mode is the last of them.
        made += (
            rf"(?P<{part.replace('-', '__') or 'it'}>.+{'' if part == 'target' else '?'})"
            if number % 2
            else r"\s+".join(map(re.escape, part.split(" ")))
        )
    return re.compile(rf"\s*{made}\s*", re.IGNORECASE)


def mapping_text(mapping: PlotMapping) -> str:
    """A mapping as a file; columns and codes stay in their order."""
    from showvc.formats.writing import document

    shape = shape_of(PlotMapping)
    return document({"mapping": 1, **_written(mapping)}, shape)


def _written(value: Any) -> Any:
    if isinstance(value, Body):
        fields = {(info.alias or name): getattr(value, name) for name, info in type(value).model_fields.items()}
        usual = {(info.alias or name): info.get_default() for name, info in type(value).model_fields.items()}
        return {name: _written(inner) for name, inner in fields.items() if inner != usual[name]}
    if isinstance(value, Mapping):
        return {name: _written(inner) for name, inner in value.items()}
    return sorted(value) if isinstance(value, frozenset) else value
