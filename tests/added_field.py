"""A catalogue with one more field, in a process of its own: `python -m tests.added_field MODEL` runs every way in and out.

The field is one line in its model's source, which is read with that line put in. Nothing else of the product is changed.
"""

from __future__ import annotations

import importlib.abc
import importlib.util
import json
import re
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from types import CodeType
from typing import Any

MODULES = ("showvc.document.bodies", "showvc.document.head")
PLACES = {
    "Group": "groups/fly", "User": "users/sm", "Channel": "users/sm/channels/fly", "LineUse": "users/sm/lines/alarm",
    "Device": "devices/desk", "Loan": "devices/desk/lent", "Bridge": "bridges/b", "Circuit": "circuits/c",
    "Carrier": "carriers/s", "Head": "", "Limits": "limits", "Line": "lines/alarm", "Kind": "kinds/rack",
    "Required": "required/a", "Apart": "apart/a", "Accepted": "accepted/a", "Standard": "standards/a",
}  # fmt: skip
"""By model: where one stands in the show below."""
LINE = '    added: Annotated[int, Field(ge=-60, le=100), Words("added")] = 0\n'
TREE: dict[str, Any] = {
    "format": 2,
    "title": "The Salt Road",
    "limits": {"targets": 900},
    "lines": {"alarm": {"label": "ALARM"}},
    "kinds": {"rack": {"keys": 12, "ports": 2}},
    "required": {"a": {"from": "sm", "to": "fly"}},
    "apart": {"a": {"from": "sm", "to": "c"}},
    "accepted": {"a": {"rule": "device-without-user", "at": "/devices/desk", "why": "a spare"}},
    "standards": {"a": {"for": "users/*", "must": {"department": "stage"}}},
    "groups": {"fly": {"name": "Fly Rail", "label": "FLY"}},
    "users": {
        "sm": {"name": "Stage Manager", "channels": {"fly": {"number": 1}}, "lines": {"alarm": {"talk": "momentary"}}}
    },
    "devices": {"desk": {"name": "Desk", "kind": "rack", "user": "sm", "keys": {"A1": "fly"}, "lent": {"to": "house"}}},
    "bridges": {"b": {"kind": "radio", "device": "desk", "port": 1, "target": "fly", "circuit": "c"}},
    "circuits": {"c": {"name": "House party line"}},
    "carriers": {"s": {"name": "Deck switch"}},
}
MAPPED = {
    "Group": "group", "User": "user", "Device": "device", "Bridge": "bridge", "Circuit": "circuit", "Carrier": "carrier",
    "Channel": "channel", "Head": "show", "Loan": "device", "LineUse": "user", "Limits": "show",
}  # fmt: skip
"""By model: the rows of other people's tables that can say its fields. The rest have no rows in a mapping."""
IDENTITY = {
    "channel": "Who: user, To: target, No: number",
    "bridge": "Id: id, Kind: kind, Unit: device, Port: port, To: target",
    "device": "Id: id, Name: name, Kind: kind",
    "show": "Title: title",
}


class Added(importlib.abc.MetaPathFinder, importlib.abc.SourceLoader):
    """Reads the modules of the catalogue with the line in one model."""

    def __init__(self, model: str) -> None:
        self.model = model

    def find_spec(self, name: str, path: Any, target: Any = None) -> Any:
        return importlib.util.spec_from_loader(name, self, origin=self.get_filename(name)) if name in MODULES else None

    def get_filename(self, name: str) -> str:
        return str(Path(__file__).parents[1].joinpath(*name.split(".")).with_suffix(".py"))

    def get_data(self, path: str | bytes) -> bytes:
        text = Path(str(path)).read_text()
        return re.sub(
            rf"(class {self.model}\(Body\):.*?\n)(\n\n|\Z)", rf"\1{LINE}\2", text, count=1, flags=re.S
        ).encode()

    def get_code(self, name: str) -> CodeType | None:
        path = self.get_filename(name)
        return self.source_to_code(self.get_data(path), path)


def without_added(rows: Sequence[Sequence[Any]]) -> list[list[Any]]:
    """The rows of a sheet without the column, or the row of About, that is headed by the field."""
    left = [place for place, head in enumerate(rows[0] if rows else ()) if not str(head).lower().endswith("added")]
    wide = [[*row, *[None] * len(left)] for row in rows if not str(row[0]).lower().endswith("added")]
    return [[row[place] for place in left] for row in wide]


class Ways:
    """The show with the field set to 7, through each way in and out."""

    def __init__(self, model: str) -> None:
        from showvc.document import show_from_tree
        from showvc.document.editing import put

        self.model = model
        self.steps = (*filter(None, PLACES[model].split("/")), "added")
        self.bare = show_from_tree(TREE)
        self.show = put(self.bare, {self.steps: 7})
        self.other = put(self.bare, {("groups", "fly", "label"): "RAIL"})

    def value(self, show: Any) -> Any:
        from showvc.document.editing import get

        return get(show, self.steps)

    def folder(self) -> None:
        from showvc.formats import read
        from showvc.formats.folder import folder_texts

        with tempfile.TemporaryDirectory() as place:
            for name, text in folder_texts(self.show).items():
                Path(place, name).parent.mkdir(exist_ok=True)
                Path(place, name).write_text(text)
            assert read(Path(place)) == self.show

    def single_document(self) -> None:
        from showvc.formats.single import read_single, single_text

        for suffix in (".yaml", ".json"):
            assert read_single(single_text(self.show, suffix).encode(), f"a.show{suffix}") == self.show

    def tables(self) -> None:
        """Our own: read alone, over what was there, edited, and with the column taken out."""
        from showvc.formats.tables.plan import plan_import
        from showvc.formats.tables.sheets import read_xlsx
        from showvc.formats.tables.textfiles import read_csv, write_csv
        from showvc.formats.tables.workbook import read_workbook, write_workbook
        from tests.formats.tables.books import workbook

        book, texts = write_workbook(self.show, None, ""), write_csv(self.show)
        assert read_workbook(book, "show.xlsx")[0] == self.show == read_csv(texts, "tables")[0]
        for over in (self.show, self.bare):
            assert plan_import(over, book, "show.xlsx").show == self.show
            assert plan_import(over, texts, "tables").show == self.show
        found = {name: without_added(sheet.rows) for name, sheet in read_xlsx(book, "show.xlsx").items()}
        assert plan_import(self.show, workbook(found), "show.xlsx").show == self.show

    def mapping(self) -> None:
        """Another's table: the field as a column, and a table that knows nothing of it."""
        from showvc.formats.tables.mapping import read_mapping
        from showvc.formats.tables.plan import plan_import
        from showvc.formats.tables.plotwriting import write_plot

        each = MAPPED.get(self.model)
        if each is None:
            return
        within = {"Loan": "lent/added", "LineUse": "lines/alarm/added", "Limits": "limits/added"}.get(
            self.model, "added"
        )
        for columns, expected in ((f", Extra column: {within}", 7), ("", 7)):
            text = f"mapping: 1\ntables:\n  t: {{each: {each}, columns: {{{IDENTITY.get(each, 'Id: id, Name: name')}{columns}}}}}\n"
            mapping = read_mapping(text.encode(), "plot.yaml")
            (data,) = write_plot(self.show, mapping, ".csv").values()
            found = plan_import(self.show, data, "plot.csv", mapping)
            assert found.show is not None and self.value(found.show) == expected and not found.unread, found
            if columns:
                fresh = plan_import(self.bare, data, "plot.csv", mapping).show
                assert fresh is not None and self.value(fresh) == 7

    def set(self) -> None:
        from showvc.document.editing import put, shape_at
        from showvc.formats.typed import value_of

        shape = shape_at(self.steps)
        assert shape is not None
        assert put(self.bare, {self.steps: value_of("7", shape, "added")}) == self.show

    def compare(self) -> None:
        from showvc.changes import compare

        (change,) = compare(self.bare, self.show).changes
        assert (change.path, change.before, change.after) == ("/" + "/".join(self.steps), 0, 7), change
        assert "added" in change.text

    def merge(self) -> None:
        from showvc.merging import merge

        for mine, incoming in ((self.show, self.other), (self.other, self.show)):
            made = merge(self.bare, mine, incoming)
            assert not made.conflicts and self.value(made.show) == 7 and made.show.groups["fly"].label == "RAIL"

    def schema(self) -> None:
        from showvc.document.schema import document_schema

        made = document_schema()
        inner = made if self.model == "Head" else made["$defs"][self.model]
        assert inner["properties"]["added"]["title"] == "Added", inner["properties"]["added"]

    def strategies(self) -> None:
        from hypothesis import find

        from showvc.document.editing import shape_at
        from tests.strategies import any_body

        shape = shape_at(self.steps[:-1])
        if self.model == "Head":
            from showvc.document import Head, shape_of

            shape = shape_of(Head)
        assert shape is not None
        find(any_body(shape), lambda tree: tree.get("added") not in (None, 0))


WAYS = ("folder", "single_document", "tables", "mapping", "set", "compare", "merge", "schema", "strategies")

if __name__ == "__main__":
    sys.meta_path.insert(0, Added(sys.argv[1]))
    ways, failed = Ways(sys.argv[1]), {}
    for name in WAYS:
        try:
            getattr(ways, name)()
        except Exception as error:
            failed[name] = f"{type(error).__name__}: {error}"[:1500]
    print(json.dumps(failed))
