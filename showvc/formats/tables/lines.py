"""The lines that tables know. A show names its own since format 2: whoever reads a table has to ask the show."""

from __future__ import annotations

from collections.abc import Mapping

LINES: tuple[str, ...] = ()
LINE_LABELS: Mapping[str, str] = {}
