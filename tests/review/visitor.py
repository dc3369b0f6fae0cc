"""A review that is really served, and somebody who knocks at its socket as a browser does, or as an attacker."""

from __future__ import annotations

import atexit
import http.client
import re
import shutil
import tempfile
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from urllib.parse import urlencode

from showvc.cli.review import _facts
from showvc.review.server import Running
from tests.history.desk import Desk
from tests.report.plots import Seen


@dataclass
class Reply:
    code: int
    headers: Mapping[str, str]
    html: str

    @property
    def text(self) -> str:
        return Seen(self.html).text


@dataclass
class Visitor:
    """One browser: keeps its cookie, sends Host and Origin as browsers do, unless it is told otherwise."""

    running: Running
    cookie: str | None = None
    log: list[str] = field(default_factory=list)

    @property
    def port(self) -> int:
        return self.running.application.guard.port

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    @property
    def root(self) -> str:
        """The path below which all of it is."""
        return self.running.application.guard.root

    @property
    def base(self) -> str:
        """The address of what is at the path `/`, without the slash."""
        return f"http://{self.host}{self.root}"

    def get(self, path: str, method: str = "GET", body: bytes | None = None, **headers: str | None) -> Reply:
        """Asks for a path of the review: `/merge`."""
        return self.knock(self.root + path, method, body, **headers)

    def knock(self, path: str, method: str = "GET", body: bytes | None = None, **headers: str | None) -> Reply:
        """Asks for any path of the port. `Host=None` leaves a header out."""
        given: dict[str, str | None] = {"Host": self.host, "Cookie": self.cookie}
        given |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in given.items():
                if value is not None:
                    connection.putheader(name, value)
            if body is not None:
                connection.putheader("Content-Length", str(len(body)))
            connection.endheaders(body)
            answer = connection.getresponse()
            reply = Reply(answer.status, dict(answer.getheaders()), answer.read().decode())
        finally:
            connection.close()
        assert "Traceback" not in reply.html
        return reply

    def enter(self) -> Reply:
        """Opens the address that was printed."""
        reply = self.knock(self.running.address.partition(self.host)[2])
        assert reply.code == 303, reply
        self.cookie = reply.headers["Set-Cookie"].partition(";")[0]
        return reply

    def post(self, path: str, form: Mapping[str, str], **headers: str | None) -> Reply:
        """Presses a button: the form with its token, as the page has it."""
        known = {"Origin": f"http://{self.host}", "Content-Type": "application/x-www-form-urlencoded"}
        fields = {"form": self.running.application.guard.form, **form}
        return self.get(path, "POST", urlencode(fields).encode(), **{**known, **headers})  # type: ignore[arg-type]

    def press(self, button: str, number: int = 0, **typed: str) -> Reply:
        """Presses a button of the merge page by what stands on it; `number` counts those that say the same."""
        page = self.get("/merge").html
        forms = [form for form in re.findall(r"(?s)<form method=\"post\".*?</form>", page) if f">{button}" in form]
        form = forms[number]
        fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form))
        taken = re.search(rf'<button name="(\w+)" value="(\w+)"[^>]*>{re.escape(button)}', form)
        fields |= {taken[1]: taken[2]} if taken else {}
        action = re.search(r'action="([^"]+)"', form)
        assert action is not None
        return self.post(action[1].removeprefix(self.root), {**fields, **typed})


@contextmanager
def served(desk: Desk) -> Iterator[Visitor]:
    """The review of a show folder, answering until the test is done."""
    running = Running(desk.folder, _facts, "The Salt Road")
    thread = threading.Thread(target=running.run, daemon=True)
    thread.start()
    try:
        yield Visitor(running)
    finally:
        running.stop()
        thread.join(timeout=10)


def clash(folder: Path) -> Desk:
    """A show with an open merge of three conflicts: a value, a number taken twice, a path that only the sum loses."""
    shutil.copytree(_clashed(), folder)
    return Desk(folder)


@cache
def _clashed() -> Path:
    """Made once, since many tests begin with it."""
    home = Path(tempfile.mkdtemp(prefix="showvc-review-"))
    atexit.register(shutil.rmtree, home, ignore_errors=True)
    desk = Desk.begun(home / "show")
    desk("set", "required/sm-fly", "{from: sm, to: fly, why: fly cues are called here}")
    desk("set", "users/asm/channels/snd", "{number: 2}")
    desk("set", "devices/pack-02", "{kind: pack-2, user: board, keys: {A1: lx}}")
    desk("set", "users/sm/channels/snd", "{number: 3, talk: momentary}")
    desk("record", "--note", "The rail is required")
    desk("draft", "open", "house")
    desk("set", "users/sm/channels/lx/talk", "dual")
    desk("set", "users/board/channels/snd", "{number: 2, talk: latch}")
    desk("remove", "devices/desk-01/keys/A2", code=None)
    desk("remove", "users/sm/channels/fly", code=None)
    desk("record", "--note", "House edits", code=1)
    desk("draft", "go", "main")
    desk("set", "users/sm/channels/lx/talk", "momentary")
    desk("set", "users/board/channels/fly", "{number: 2, talk: momentary}")
    desk("remove", "users/asm/channels/snd")
    desk("record", "--note", "Deck edits")
    desk("merge", "house", code=1)
    return desk.folder
