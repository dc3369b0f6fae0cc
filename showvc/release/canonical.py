"""One spelling for one show: RFC 8785 canonical JSON, and the SHA-256 of it."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator
from typing import Any

from showvc.document import Problem, Show, ShowError
from showvc.document.pointers import join

EXACT = 2**53 - 1
"""The largest whole number that every JSON reader carries unchanged. Source: RFC 7493 (I-JSON), 2.2."""


def canonical_json(value: Any) -> bytes:
    """The value as RFC 8785 canonical JSON.

    ShowError names, by pointer, what JSON cannot carry unchanged: a whole number that no double holds, text that
    is no Unicode, nesting without end.
    """
    try:
        return _written(value)
    except RecursionError:
        message = "the show is nested too deep for JSON"
        raise ShowError([Problem(message, way_out="look into its extra fields")]) from None


def _written(value: Any) -> bytes:
    import rfc8785

    try:
        return rfc8785.dumps(value)
    except ValueError:
        if problems := list(_unfit(value, ())):
            raise ShowError(problems) from None
        return rfc8785.dumps(_with_doubles(value))


def canonical_show(show: Show) -> bytes:
    """The single document of a show as RFC 8785 canonical JSON."""
    return canonical_json(show.tree())


def content_hash(show: Show) -> str:
    """SHA-256 (64 small hex digits) of the canonical JSON: the name of what a show says."""
    return hashlib.sha256(canonical_show(show)).hexdigest()


def _double(number: int) -> float | None:
    """The double that is written with just these digits, as Python reads `1e16` back from its canonical form."""
    from rfc8785 import dumps

    return float(number) if EXACT < abs(number) < 10**21 and dumps(float(number)) == b"%d" % number else None


def _with_doubles(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _with_doubles(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_with_doubles(inner) for inner in value]
    return _double(value) or value if isinstance(value, int) else value


def _unfit(value: Any, steps: tuple[str, ...]) -> Iterator[Problem]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _unfit_text(name, steps)
            yield from _unfit(inner, (*steps, name))
    elif isinstance(value, list | tuple):
        for place, inner in enumerate(value):
            yield from _unfit(inner, (*steps, str(place)))
    elif isinstance(value, str):
        yield from _unfit_text(value, steps)
    elif isinstance(value, int) and abs(value) > EXACT and _double(value) is None:
        message = f"{join(*steps)} is a whole number that JSON readers round"
        yield Problem(message, way_out="write it in quotes, as text")
    elif isinstance(value, float) and not math.isfinite(value):
        yield Problem(f"{join(*steps)} is {value}, which JSON cannot say", way_out="write it in quotes, as text")


def _unfit_text(text: str, steps: tuple[str, ...]) -> Iterator[Problem]:
    if any("\ud800" <= char <= "\udfff" for char in text):
        shown = join(*steps).encode("ascii", "backslashreplace").decode()
        yield Problem(f"{shown} holds half a character (a lone surrogate)", way_out="type the text again")
