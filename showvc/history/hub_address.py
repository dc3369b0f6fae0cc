"""Where a hub is: a folder, or a server over ssh or https. Nothing else is ever called."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from showvc.document import ShowError

_SCHEME = re.compile(r"([A-Za-z][A-Za-z0-9+.-]*)://")
_HELPER = re.compile(r"[A-Za-z0-9+.-]+::")
_SHORT = re.compile(r"(?:([^/@:\\\s]+)@)?([^/@:\\\s]{2,}):(.*)")
_HOST = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.:-]*")
_ALLOWED = "a hub is a folder, ssh://HOST/PATH, HOST:PATH or https://HOST/PATH"


@dataclass(frozen=True, slots=True)
class Address:
    """A hub's place, checked. `folder` is set where it lies on a disk or a share; `text` is then that path."""

    text: str
    folder: Path | None = None


def address_of(text: str, here: Path | None = None) -> Address:
    """The address that a person wrote; a folder is taken from `here`. ShowError for what may not be called."""
    given = text.strip()
    if not given or not given.isprintable():
        raise ShowError(f"{text!r} is no place of a hub", _ALLOWED)
    if given.startswith("-"):
        raise ShowError(f"{given!r} reads as an option, not as a place", f"{_ALLOWED}; write a folder as ./{given}")
    if _HELPER.match(given):
        raise ShowError(f"{given!r} would start a program: not called", _ALLOWED)
    scheme = _SCHEME.match(given)
    if scheme:
        return _of_url(given, scheme[1].lower(), here)
    short = _SHORT.fullmatch(given)
    if short and not Path(given).expanduser().exists():
        return _of_short(given, *short.groups())
    return _of_folder(given, here)


def _of_folder(given: str, here: Path | None) -> Address:
    folder = ((here or Path.cwd()) / Path(given).expanduser()).resolve()
    return Address(str(folder), folder)


def _of_url(given: str, scheme: str, here: Path | None) -> Address:
    rest = given.partition("://")[2]
    if scheme == "file":
        if not rest.startswith("/"):
            raise ShowError(f"{given!r} names no folder of this machine", "write file:///PATH, or the folder itself")
        return _of_folder(rest, here)
    if scheme not in ("ssh", "https"):
        raise ShowError(f"{scheme}:// is not used: what goes over it can be read or changed on the way", _ALLOWED)
    try:
        parts = urlsplit(given)
        password = parts.password
        sound = _is_host(parts.hostname) and _is_user(parts.username) and len(parts.path) > 1 and parts.port != 0
    except ValueError:
        sound, password = False, None
    if password is not None:
        raise ShowError(
            "a password does not belong in the hub's place: everybody could read it", "leave it out of the address"
        )
    if not sound or any(char.isspace() for char in given):
        raise ShowError(f"{given!r} is no place of a hub", _ALLOWED)
    return Address(given)


def _of_short(given: str, user: str | None, host: str, path: str) -> Address:
    if not (_is_host(host) and _is_user(user)) or not path or path.startswith("-"):
        raise ShowError(f"{given!r} is no place of a hub", _ALLOWED)
    return Address(given)


def _is_host(host: str | None) -> bool:
    # A name that begins with '-' would be an option to ssh.
    return bool(host and _HOST.fullmatch(host))


def _is_user(user: str | None) -> bool:
    return user is None or bool(user and re.fullmatch(r"[A-Za-z0-9_][A-Za-z0-9_.+-]*", user))
