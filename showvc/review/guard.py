"""Who may look and press: one browser of this machine, with the key that was printed.

The address carries a key that works once; it is exchanged for a cookie that scripts cannot read and other sites do
not send. A page of another site can neither read (Host and Origin are checked, which also stops a name that is
made to lead to this machine, "DNS rebinding") nor press a button (each form carries a token of its own).
"""

from __future__ import annotations

import secrets
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field

HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; img-src data:; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Nothing of an address ever goes to another site. Not `no-referrer`: under it browsers send `Origin: null` with
    # our own forms (Fetch standard, "append a request Origin header"), and their origin could not be checked.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cache-Control": "no-store",
}
"""What every answer carries."""


def _token() -> str:
    return secrets.token_urlsafe(32)


@dataclass(slots=True)
class Guard:
    """The keys of one run. `port` is that of this machine's loopback address."""

    port: int
    key: str | None = field(default_factory=_token)
    """Works once; None when it is used up."""
    session: str = field(default_factory=_token)
    form: str = field(default_factory=_token)
    _turn: threading.Lock = field(default_factory=threading.Lock)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}/?key={self.key}"

    @property
    def cookie(self) -> str:
        """The cookie's name: two pages on one machine have two ports, and browsers give cookies to all of them."""
        return f"showvc-{self.port}"

    @property
    def hosts(self) -> frozenset[str]:
        return frozenset((f"127.0.0.1:{self.port}", f"localhost:{self.port}"))

    def take_key(self, given: str) -> bool:
        """Whether this is the key; from then on it is none."""
        with self._turn:
            fits = self.key is not None and _same(given, self.key)
            if fits:
                self.key = None
            return fits

    def knows(self, cookie: str | None) -> bool:
        """Whether a browser's cookie is that of this run."""
        return cookie is not None and _same(cookie, self.session)

    def host_is_ours(self, host: str | None) -> bool:
        return host in self.hosts

    def origin_is_ours(self, host: str | None, origin: str | None, fetch_site: str | None) -> bool:
        """Whether a button was pressed on a page of ours: its origin is named, and is this very host."""
        return origin is not None and origin == f"http://{host}" and fetch_site in (None, "same-origin")

    def form_is_ours(self, token: str | None) -> bool:
        return token is not None and _same(token, self.form)


def _same(one: str, other: str) -> bool:
    return secrets.compare_digest(one.encode(), other.encode())
