"""What is believed again later, though it lay in a folder that others may have had in their hands."""

from __future__ import annotations

import hashlib
import hmac
import os
from contextlib import suppress
from functools import cache
from pathlib import Path

from showvc.document import MachineError
from showvc.formats.atomic import write_atomically

_LENGTH = 16
_SECRET = 32


def sealed(name: str, data: bytes) -> bytes:
    """These bytes under this name with a seal that only this user on this machine can make."""
    return _seal(name, data) + data


def opened(name: str, raw: object) -> bytes | None:
    """The bytes that were sealed under this name; None where anybody else made them."""
    if not isinstance(raw, bytes):
        return None
    data = raw[_LENGTH:]
    return data if hmac.compare_digest(raw[:_LENGTH], _seal(name, data)) else None


def _seal(name: str, data: bytes) -> bytes:
    return hashlib.blake2b(name.encode() + b"\0" + data, key=_secret(), digest_size=_LENGTH).digest()


@cache
def _secret() -> bytes:
    """Kept with the user's own state; where it can't be, it is new each time, and nothing is believed again."""
    with suppress(OSError, MachineError, RuntimeError):
        place = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state") / "showvc" / "secret"
        if not place.is_file():
            place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            place.touch(mode=0o600)
            write_atomically(place, os.urandom(_SECRET))
        found = place.read_bytes()
        if len(found) == _SECRET:
            return found
        place.unlink()
    return os.urandom(_SECRET)
