"""The mapping format, explained in the comments at the head of every mapping that is proposed."""

from __future__ import annotations

import textwrap
from typing import get_args

from showvc.formats.tables.layout import spread_fields
from showvc.formats.tables.mapping import ACROSS_ROWS, Each, across_fields, row_fields, row_model
from showvc.formats.tables.notation import LISTEN, TALK

_HEAD = """\
# How to edit a mapping. A line that begins with # is a comment; nobody reads it but you.
#
# tables:    one entry for each sheet, file or list of the plot, under any name. Take out what you do not want read.
#   sheet, file or rows: where it stands: the workbook's sheet; the file of a folder of text tables; or, in JSON and
#            XML, the path of its rows, such as plot/position. Left out where there is but one.
#   head:    the row of the heads, counted from 1; left out, it is found by the columns. under: rows right below it
#            that belong to the heads.
#   each:    what one row is: {each}.
#   columns: HEAD: FIELD for each column. A column that is not named is kept and comes back on export.
{fields}
#            In JSON and XML a column is a path from its row: name, pack/serial, '@id' (an attribute), ../name (of the
#            element around it), '#text' (what the row says itself), '*' (the name that it stands under).
#   fill:    [HEAD, ...]: an empty cell here means the one above it. set: FIELD: VALUE, the same for every row.
#   across:  the columns that are not named above, where their heads say something themselves:
#     is:    their heads are a target, a number (of a channel) or a key.
#     heads: how a head is written, with {{}} for what it says: "Key {{}}". except: [HEAD, ...] that are none of these.
#     cell:  what a cell says, such as "{{target}} ({{mode}})", made of
{cells}
#   codes:   what cells mean: FIELD, then CELL: MEANING. A mode means talk/listen:
#            {talks} or talks / {listens} or listens.
#            talks and listens leave it as the show has it (momentary and always, where it has nothing).
#   also:    keys: a channel's number is its key, too; channels: a key is a channel of its user, too.
# missing:   remove (the usual) what the plot lists no longer; or keep it.
"""


def explained() -> str:
    """The explanation, each line a comment."""
    fields = [f"{each}: {', '.join(_fields(each))}" for each in get_args(Each)]
    wrapped = [
        part
        for line in ["The fields of a row that is a", *fields]
        for part in textwrap.wrap(line, 118 - 13, subsequent_indent="  ", break_long_words=False)
    ]
    cells = [f"below a {kind}: {', '.join(f'{{{word}}}' for word in across_fields(kind))}" for kind in ACROSS_ROWS]
    return _HEAD.format(
        each=", ".join(get_args(Each)),
        fields=_lines(wrapped),
        cells=_lines(cells),
        talks=", ".join(TALK),
        listens=", ".join(LISTEN),
    )


def _fields(each: str) -> list[str]:
    """The fields of a row. Of each line, a position says its use in one (`lines/alarm`), or field by field."""
    model = row_model(each)
    spread = spread_fields(model) if model else {}
    return [*row_fields(each), *(f"{name}/{(shape.to or 'name').upper()}" for name, shape in spread.items())]


def _lines(lines: list[str]) -> str:
    return "\n".join(f"#            {line}" for line in lines)
