"""The socket of the review, which nobody can shut by saying nothing.

Any program of this machine may open connections to it. One that is silent, or says its request letter by letter, has
a bounded time; and where there are too many, who has kept the server waiting longest makes room for who comes.
"""

from __future__ import annotations

import time
from typing import Any

from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer

PATIENCE = 10.0
"""Seconds for a whole request, and for taking an answer. On the same machine both take milliseconds."""
MOST = 48
"""Connections that are kept; a browser opens six."""


class _Channel(HTTPChannel):  # type: ignore[misc]
    """One connection, which knows since when the server waits for it."""

    def __init__(self, *given: Any, **more: Any) -> None:
        self.waiting_since = time.time()
        super().__init__(*given, **more)

    def received(self, data: bytes) -> bool:
        taken = bool(super().received(data))
        if self.requests:  # a whole one: the next has its own time
            self.waiting_since = time.time()
        return taken

    @property
    def silent_since(self) -> float | None:
        """Since when it has asked for nothing, or not taken what it asked for; None while it is being answered."""
        if self.requests:
            return None
        return float(self.last_activity) if self.total_outbufs_len else self.waiting_since


class Listener(TcpWSGIServer):  # type: ignore[misc]
    """Waitress, with a bound on how long and how often it is kept waiting."""

    channel_class = _Channel

    def handle_accept(self) -> None:
        super().handle_accept()  # first: were one closed before, the new one could get its number within this round
        waiting = self._waiting()
        for _, channel in waiting[: min(len(self.active_channels) - MOST, len(waiting) - 1)]:
            channel.handle_close()

    def maintenance(self, now: float) -> None:
        """Closes whoever was silent for too long; a letter now and then is no help."""
        for since, channel in self._waiting():
            if since < now - PATIENCE:
                channel.handle_close()

    def _waiting(self) -> list[tuple[float, _Channel]]:
        """The connections that keep the server waiting, the longest first."""
        found = [(channel.silent_since, channel) for channel in self.active_channels.values()]
        return sorted(((since, channel) for since, channel in found if since is not None), key=lambda each: each[0])
