r"""Characters that act on a screen, or that nobody can see; and how they are shown instead.

A terminal takes some characters for orders, a browser turns text round at others, and of some nothing is seen at all. A
name that holds one could clear the screen, or look like another name. They are shown as JSON writes them, `\u009b`, so
that the same text is still exact where it is JSON.
"""

from __future__ import annotations

import re

CONTROLS = "\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufff9-\ufffb\ud800-\udfff"
"""Orders to a terminal (C0 but for tab and line feed, DEL, C1), breaks of lines, and halves of surrogate pairs."""
VARIANTS = "\ufe00-\ufe0f\U000e0100-\U000e01ef"
"""They choose one of two ways to draw the character before them."""
JOINERS = "\u200c\u200d"
"""Letters of some scripts, and signs of several parts, are written with them."""
HIDDEN = (
    "\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f\u3164\ufeff"
    "\uffa0\ufff0-\ufff8\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e00ff\U000e01f0-\U000e0fff"
)
"""Characters of which nothing is seen: with the two above, Unicode's Default_Ignorable_Code_Point (from memory)."""

_RAW = re.compile(rf"\r(?!\n)|(?!\r)[{CONTROLS}{HIDDEN}]")


def visible(text: str) -> str:
    """The text with all that would act on a screen, or hide, written as escapes. Lines and tabs stay."""
    if text.isascii() and text.isprintable():
        return text
    return _RAW.sub(lambda found: escaped(found.group()), text)


def on_one_line(text: str) -> str:
    """The same, with the ends of lines and the tabs as escapes too: what was given cannot speak for the program."""
    return visible(text).replace("\r", escaped("\r")).replace("\n", escaped("\n")).replace("\t", escaped("\t"))


def escaped(char: str) -> str:
    r"""A character as JSON escapes it: `\n`, `\u009b`, and two of the latter beyond the first 65,536."""
    units = char.encode("utf-16-be", "surrogatepass")
    return _SHORT.get(char) or "".join(f"\\u{units[at]:02x}{units[at + 1]:02x}" for at in range(0, len(units), 2))


_SHORT = {"\n": r"\n", "\r": r"\r", "\t": r"\t"}
