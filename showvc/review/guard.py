"""Who may look and press: one browser of this machine, with the key that was printed.

Everything is served below a path that is drawn by chance. The address carries a key that works once; it is exchanged
for a cookie that is bound to that path, since a browser takes all ports of this machine for one site and would hand it
to any other server here. Scripts cannot read it and other sites do not send it. A page of another site can neither
read (Host and Origin are checked, which also stops a name that is made to lead to this machine, "DNS rebinding") nor
press a button (each form carries a token of its own). Who asks outside the path, or without the cookie, gets one and
the same answer, which says nothing of the show.
"""

from __future__ import annotations

import secrets
import threading
from collections.abc import Iterable, Mapping
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
    root: str = field(default_factory=lambda: f"/{_token()}")
    """The path below which all is served."""
    session: str = field(default_factory=_token)
    form: str = field(default_factory=_token)
    _turn: threading.Lock = field(default_factory=threading.Lock)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}{self.root}/?key={self.key}"

    @property
    def cookie(self) -> str:
        """The cookie's name. `__Host-` and `__Secure-` would bind it further, but over http browsers refuse these."""
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

    def below_root(self, path: str) -> str | None:
        """What stands below our path in an address: `/merge`; None where the address is not of ours."""
        root, rest = path[: len(self.root)], path[len(self.root) :]
        return rest if _same(root, self.root) and rest.startswith("/") else None

    def knows(self, cookies: Iterable[str]) -> bool:
        """Whether the cookie of this run is among those of a browser. Another server here may have set some, too."""
        return any(_same(cookie, self.session) for cookie in cookies)

    def host_is_ours(self, host: str | None) -> bool:
        return host in self.hosts

    def look_is_ours(self, fetch_site: str | None) -> bool:
        """Whether no page of another site or port asks for a page of ours. Old browsers do not say."""
        return fetch_site in (None, "none", "same-origin")

    def origin_is_ours(self, host: str | None, origin: str | None, fetch_site: str | None) -> bool:
        """Whether a button was pressed on a page of ours: its origin is named, and is this very host."""
        return origin is not None and origin == f"http://{host}" and fetch_site in (None, "same-origin")

    def form_is_ours(self, token: str | None) -> bool:
        return token is not None and _same(token, self.form)


def _same(one: str, other: str) -> bool:
    return secrets.compare_digest(one.encode(), other.encode())
