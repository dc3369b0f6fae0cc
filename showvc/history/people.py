"""Who is working: asked for once, and kept with the show."""

from __future__ import annotations

import os
import re
import unicodedata

from showvc.document import ShowError
from showvc.history.archive import Archive, Person
from showvc.store.commits import clean_name


def identity(archive: Archive, way_out: str = 'say it once: showvc now --who "Your name"') -> Person:
    """Who makes the next snapshot: SHOWVC_WHO, else the name kept with the show, else git's own.

    ShowError, with this way out, where nobody has said.
    """
    name = known_identity(archive)
    if name is None:
        raise ShowError("nobody has said who is working here", way_out)
    return person(name)


def known_identity(archive: Archive) -> str | None:
    """The name of who is working, where somebody has said."""
    return os.environ.get("SHOWVC_WHO") or archive.setting("who") or archive.git_name


def person(name: str) -> Person:
    """A person of this name, with an address that leads nowhere."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", ".", plain).strip(".") or "engineer"
    return Person(clean_name(name), f"{slug}@showvc.invalid")


def introduce(archive: Archive, name: str) -> None:
    """Keeps the name with the show."""
    if not clean_name(name).strip() or clean_name(name) == "nobody":
        raise ShowError(f"{name!r} is no name", "give the name that shall stand in the history")
    archive.set_setting("who", clean_name(name))
