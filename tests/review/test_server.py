"""Only one browser of this machine may look and press: each way in is tried at a real socket."""

from __future__ import annotations

import json
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from urllib.parse import quote

import pytest
from filelock import FileLock

from showvc.document import MachineError
from showvc.review import connections
from showvc.review.connections import MOST
from showvc.review.pages import PAGES, Page
from showvc.review.pressing import BUTTONS
from showvc.review.server import MOST_BODY, Running
from tests.history.desk import ENGINEER, Desk
from tests.report.plots import HOSTILE, Seen
from tests.review.visitor import Visitor, clash, served


@pytest.fixture(autouse=True)
def who(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWVC_WHO", ENGINEER)


@pytest.fixture(scope="module")
def still(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visitor]:
    """A review with an open merge that is only looked at."""
    with served(clash(tmp_path_factory.mktemp("review") / "show")) as visitor:
        visitor.enter()
        yield visitor


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return clash(tmp_path / "show")


# --- the way in


def test_it_listens_on_this_machine_alone(still: Visitor) -> None:
    assert still.running._server.socket.getsockname() == ("127.0.0.1", still.port)
    with socket.socket() as other:
        other.bind(("127.0.0.2", still.port))  # were it bound to every address, this would fail


def test_the_key_lets_one_browser_in_and_then_nobody(desk: Desk) -> None:
    with served(desk) as first:
        address = first.running.address
        assert first.get("/").code == 403
        entered = first.enter()
        assert entered.headers["Location"] == f"{first.root}/"
        bound = entered.headers["Set-Cookie"].split("; ")[1:]
        assert sorted(bound) == ["HttpOnly", f"Path={first.root}/", "SameSite=Strict"]
        assert first.get("/").code == 200
        second = Visitor(first.running)
        again = second.knock(address.partition(second.host)[2])
        assert again.code == 403 and "the key works once" in again.text
        assert "Set-Cookie" not in again.headers
        assert first.knock(address.partition(first.host)[2]).code == 303, "to whom it let in, the address still leads"


@pytest.mark.parametrize("key", ["", "x", "None", "a" * 43, "%00", "%C3%BC"])
def test_what_is_no_key_lets_nobody_in(desk: Desk, key: str) -> None:
    with served(desk) as visitor:
        reply = visitor.get(f"/?key={key}")
        assert reply.code == 403 and "Set-Cookie" not in reply.headers
        visitor.enter()


@pytest.mark.parametrize("cookie", [None, "", "showvc-{port}=", "showvc-{port}=None", "showvc-{port}=abc", "other=1"])
def test_without_the_cookie_nothing_is_shown_and_nothing_is_pressed(still: Visitor, cookie: str | None) -> None:
    stranger = Visitor(still.running, cookie and cookie.format(port=still.port))
    for path in (*PAGES, "/style.css"):
        reply = stranger.get(path)
        assert reply.code == 403 and "Stage Manager" not in reply.text, path
    for path in BUTTONS:
        assert stranger.post(path, {"take": "mine"}).code == 403
    assert "3 conflicts" in still.get("/merge").text


@pytest.mark.parametrize(
    "host", [None, "", "evil.invalid", "evil.invalid:{port}", "127.0.0.1", "127.0.0.1:1", "127.0.0.1:{port}.evil.invalid", "[::1]:{port}", "127.0.0.2:{port}"]
)  # fmt: skip
def test_a_name_that_is_made_to_lead_here_is_refused(still: Visitor, host: str | None) -> None:
    assert still.get("/", Host=host and host.format(port=still.port)).code in (400, 403)
    assert still.get("/", Host=f"localhost:{still.port}").code == 200


# --- pressing


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": None},
        {"Origin": "null"},
        {"Origin": "http://evil.invalid"},
        {"Origin": "https://127.0.0.1:{port}"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
    ],
)
def test_a_button_pressed_on_another_site_does_nothing(still: Visitor, headers: dict[str, str | None]) -> None:
    given = {name: value and value.format(port=still.port) for name, value in headers.items()}
    reply = still.post("/merge/drop", {}, **given)
    assert reply.code == 403 and "press the button on the page itself" in reply.text
    assert "3 conflicts" in still.get("/merge").text


@pytest.mark.parametrize("token", ["", "x", "None"])
def test_a_form_without_its_token_does_nothing(still: Visitor, token: str) -> None:
    assert still.post("/merge/drop", {"form": token}).code == 403
    origin = {"Origin": f"http://{still.host}", "Content_Type": "application/x-www-form-urlencoded"}
    assert still.get("/merge/drop", "POST", b"", **origin).code == 403  # type: ignore[arg-type]
    assert "3 conflicts" in still.get("/merge").text


def test_looking_changes_nothing_and_pressing_is_no_looking(still: Visitor) -> None:
    for path in BUTTONS:
        assert still.get(path).code == 405
    for path in PAGES:
        assert still.post(path, {}).code == 405
    for method in ("PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"):
        assert still.get("/", method).code == 405
    assert "3 conflicts" in still.get("/merge").text


# --- what is asked for


@pytest.mark.parametrize(
    "path",
    ["/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/show.yaml", "/.git/config", "//evil.invalid/", "/style.css/..", "/merge/", "/static/x"],
)  # fmt: skip
def test_no_path_leads_to_the_disk(still: Visitor, path: str) -> None:
    reply = still.get(path)
    assert reply.code == 404 and "there is no such page" in reply.text


@pytest.mark.parametrize(
    "name",
    ["/etc/passwd", "..", ".", "show.yaml", "../show", "users/sm.yaml", "x.show.yaml", "--all", "HEAD", "refs/heads/main", "main~1", "@{0}", "last;ls", "%00"],
)  # fmt: skip
def test_no_source_leads_to_the_disk_or_into_git(still: Visitor, name: str) -> None:
    for path in ("/compare?before=", "/paths?of=", "/keysheets?of=", "/check?of=", "/history?of="):
        reply = still.get(path + name)
        assert reply.code == 400 and "is no source that this show knows" in reply.text, (path, name)


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/paths/pair?talker=smm&listener=asm", "there is no user or circuit smm (did you mean sm"),
        ("/paths/pair?talker=sm&listener=sm", "sm needs no path to sm"),
        ("/paths/pair", "there is no user"),
        ("/paths/reach?user=fly", "fly is a group"),
        ("/paths?down=x", "'x' is no page of the table"),
        ("/paths?down=-1", "'-1' is no page of the table"),
        ("/history?of=zzz", "'zzz' is no source that this show knows"),
        ("/check?of=" + "x" * 501, "is too long (at most 500 characters)"),
    ],
)
def test_what_cannot_be_shown_is_told_in_our_words_with_the_way_out(still: Visitor, path: str, said: str) -> None:
    reply = still.get(path)
    assert reply.code == 400 and said in reply.text and "That was not done" in reply.text


def test_sizes_are_limited(still: Visitor) -> None:
    assert still.post("/merge/settle", {"value": "x" * (MOST_BODY + 1)}).code == 413
    assert still.get("/paths?find=" + "x" * 5000).code == 414
    assert still.get("/", Cookie=f"{still.cookie}; x={'x' * 20_000}").code in (400, 431)
    for size in (b"999999999999", b"-1", b"x"):
        with socket.create_connection(("127.0.0.1", still.port), timeout=10) as line:
            line.sendall(b"POST /merge/drop HTTP/1.1\r\nHost: " + still.host.encode() + b"\r\nContent-Length: " + size + b"\r\n\r\n")  # fmt: skip
            assert line.recv(4096).split()[1] in (b"400", b"413", b"403")
    assert still.get("/").code == 200


@pytest.mark.parametrize(
    "junk",
    [
        b"\r\n\r\n",
        b"GET\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00",
        b"GET / HTTP/9.9\r\n\r\n",
        b"GET \xff HTTP/1.1\r\nHost: \xff\r\n\r\n",
    ],
)
def test_what_is_no_request_does_no_harm(still: Visitor, junk: bytes) -> None:
    with socket.create_connection(("127.0.0.1", still.port), timeout=5) as line:
        line.sendall(junk)
        line.shutdown(socket.SHUT_WR)
        assert b"Traceback" not in line.recv(65536)
    assert still.get("/").code == 200


def test_every_answer_forbids_scripts_frames_guessing_keeping_and_telling_other_sites(still: Visitor) -> None:
    for path in (*PAGES, "/style.css", "/nothing", "/paths/pair?talker=x"):
        headers = still.get(path).headers
        policy = headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy and "script-src" not in policy and "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy and "form-action 'self'" in policy
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"
        assert headers["Cache-Control"] == "no-store"
        assert "Server" not in headers or headers["Server"] == ""


def test_pages_hold_no_script_no_style_of_their_own_and_nothing_from_outside(still: Visitor) -> None:
    for path in PAGES:
        for tag, attributes in Seen(still.get(path).html).tags:
            assert tag not in ("script", "iframe", "img", "object"), path
            assert not {name for name in attributes if name.startswith("on") or name in ("style", "src")}, path
            assert not (attributes.get("href") or "").startswith(("http", "//", "javascript")), path


def test_every_link_form_and_style_stays_below_the_path(still: Visitor) -> None:
    for path in (*PAGES, "/compare?before=last-1&after=last", "/history?of=last", "/nothing"):
        led = [
            value
            for _, attributes in Seen(still.get(path).html).tags
            for name, value in attributes.items()
            if name in ("href", "action", "formaction") and not (value or "").startswith(("#", "data:"))
        ]
        assert len(led) > 7 and all((value or "").startswith(f"{still.root}/") for value in led), path


def test_hostile_names_are_text_on_every_page(tmp_path: Path) -> None:
    said = json.dumps(HOSTILE)
    files = {
        "groups/fly.yaml": f"name: {said}\nlabel: {said}\ncritical: true\n",
        "users/sm.yaml": f"name: {said}\nlabel: {said}\ndepartment: {said}\nchannels:\n  fly: {{number: 2, talk: latch}}\n",
        "users/asm.yaml": "channels:\n  fly: {number: 1, talk: momentary}\n",
        "devices/desk-01.yaml": f"name: {said}\nplace: {said}\nkind: desk-8\nuser: sm\nkeys: {{A2: fly}}\n",
    }
    desk = Desk.begun(tmp_path / "show", files, title="The Salt Road")
    desk("set", "users/sm/channels/fly/talk", "none", code=None)
    desk.record(HOSTILE)
    pairs = ("/compare?before=last-1&after=last", "/paths/pair?talker=sm&listener=asm", "/paths/reach?user=sm")
    with served(desk) as visitor:
        visitor.enter()
        shown = 0
        for path in (*PAGES, *pairs, f"/paths?talk={quote(HOSTILE)}", f"/keysheets?find={quote(HOSTILE)}"):
            reply = visitor.get(path)
            assert "<script" not in reply.html and "<img" not in reply.html, path
            assert reply.html.count("<style") == 0, path
            shown += "<script>alert(1)" in reply.text
        assert shown >= 6


def test_what_turns_text_round_or_hides_is_seen_on_every_page(tmp_path: Path) -> None:
    """In HTML a bidirectional override misleads as on a terminal (Unicode TR 36, "Bidirectional Text Spoofing")."""
    odd = "\x9b\u202e\u2066\u200b\u200f"
    desk = Desk.begun(tmp_path / "show")
    desk.git("branch", f"d{odd}")
    desk.git("tag", f"m{odd}")
    desk.git(
        "-c", f"user.name=Ada{odd}", "-c", "user.email=a@example.org", "commit", "-q", "--allow-empty", "-m", f"n{odd}"
    )
    desk("set", "groups/lx/name", "Li\u200bghts\u200f")
    with served(desk) as visitor:
        visitor.enter()
        pages = [
            visitor.get(path).html for path in (*PAGES, f"/compare?before={quote(odd)}", f"/paths?find={quote(odd)}")
        ]
    for page in pages:
        assert not [char for char in page if char in odd], page
    assert any(r"\u009b\u202e\u2066\u200b\u200f" in page for page in pages)
    assert any(r"Li\u200bghts\u200f" in page for page in pages)


# --- others at the same time


def test_while_another_showvc_is_at_work_it_is_told_and_nothing_is_done(desk: Desk) -> None:
    with served(desk) as visitor:
        visitor.enter()
        with FileLock(str(desk.folder / ".git" / "showvc" / "lock")):
            reply = visitor.press("Take mine")
            assert reply.code == 409
            assert "another showvc is at work in this folder, so nothing was done (wait a moment" in reply.text
        assert "3 conflicts" in visitor.get("/merge").text
        assert visitor.press("Take mine").code == 303
        assert "2 conflicts" in visitor.get("/merge").text


def test_a_short_command_of_another_is_waited_for(desk: Desk) -> None:
    lock = FileLock(str(desk.folder / ".git" / "showvc" / "lock"), thread_local=False)
    with served(desk) as visitor:
        visitor.enter()
        visitor.get("/merge")
        page = Visitor(visitor.running, visitor.cookie)
        lock.acquire()
        threading.Timer(0.4, lock.release).start()
        assert page.press("Take mine").code == 303


def test_what_was_settled_elsewhere_meanwhile_is_not_settled_unseen(desk: Desk) -> None:
    with served(desk) as visitor:
        visitor.enter()
        html = visitor.get("/merge").html
        key = html.partition('name="conflict" value="')[2].partition('"')[0]
        desk("settle", "1", "--take", "mine", code=1)
        reply = visitor.post("/merge/settle", {"conflict": key, "take": "incoming"})
        assert reply.code == 400 and "this conflict is settled already, or is another one now" in reply.text
        assert visitor.post("/merge/settle", {"conflict": "no-such", "take": "mine"}).code == 400


def test_a_port_that_is_taken_is_told(desk: Desk) -> None:
    with served(desk) as visitor, pytest.raises(MachineError, match="cannot be used"):
        Running(desk.folder, lambda *_: (), "The Salt Road", visitor.port)


def test_a_fault_of_ours_is_told_in_a_line(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: object) -> None:
        raise RuntimeError("out of\nthe blue")

    monkeypatch.setitem(PAGES, "/check", broken)  # type: ignore[arg-type]
    with served(desk) as visitor:
        visitor.enter()
        reply = visitor.get("/check")
        assert reply.code == 500 and "something unforeseen: RuntimeError: out of the blue" in reply.text


def test_a_file_that_cannot_be_read_is_told_with_its_line(desk: Desk) -> None:
    desk.write("users/sm.yaml", "name: [\n")
    with served(desk) as visitor:
        visitor.enter()
        assert "users/sm.yaml" in visitor.get("/").text
        reply = visitor.get("/check")
        assert reply.code == 400 and "users/sm.yaml:" in reply.text
        assert visitor.get("/check?of=last").code == 200


# --- outside the path


OUTSIDE = (
    "/",
    "/merge",
    "/style.css",
    "/favicon.ico",
    "{root}",
    "{root}x/",
    "/.{root}/",
    "/x{root}/",
    "{half}/",
    "/?key={key}",
)


@pytest.mark.parametrize("path", OUTSIDE)
def test_outside_the_path_even_the_right_browser_learns_nothing(desk: Desk, path: str) -> None:
    with served(desk) as visitor:
        key = visitor.running.application.guard.key
        names = {"root": visitor.root, "half": visitor.root[:-1], "key": key}
        stranger = Visitor(visitor.running).get("/merge")
        visitor.enter()
        reply = visitor.knock(path.format(**names))
        assert (reply.code, reply.html) == (403, stranger.html), "one answer: it does not even tell the right path"
        for word in ("Salt", "showvc-", visitor.root[1:], "style"):
            assert word not in reply.html
        assert "Set-Cookie" not in reply.headers and "Location" not in reply.headers


def test_each_run_has_a_path_that_nobody_guesses(desk: Desk) -> None:
    with served(desk) as first, served(desk) as second:
        assert first.root != second.root and min(len(first.root), len(second.root)) > 40


def test_another_page_may_not_look_even_with_the_cookie(still: Visitor) -> None:
    for site in ("cross-site", "same-site"):
        reply = still.get("/merge", Sec_Fetch_Site=site)
        assert reply.code == 403 and "conflict" not in reply.text
    for site in ("none", "same-origin"):
        assert still.get("/merge", Sec_Fetch_Site=site).code == 200


def test_cookies_that_another_server_of_this_machine_sets_keep_nobody_out(still: Visitor) -> None:
    name = still.running.application.guard.cookie
    assert still.get("/", Cookie=f"{name}=theirs; {still.cookie}; {name}=").code == 200


# --- connections that say nothing


SILENCE = (
    b"",
    b"G",
    b"GET / HT",
    b"GET / HTTP/1.1\r\nHost: x\r\n",
    b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 9\r\n\r\nhalf",
)


@contextmanager
def silent(port: int, count: int) -> Iterator[list[socket.socket]]:
    """Connections that begin a request and stop there, each kind in turn."""
    with ExitStack() as kept:
        lines = []
        for number in range(count):
            lines.append(kept.enter_context(socket.create_connection(("127.0.0.1", port), timeout=10)))
            lines[-1].sendall(SILENCE[number % len(SILENCE)])
        yield lines


@pytest.mark.parametrize("count", [20, 60, 300])
def test_connections_that_say_nothing_keep_nobody_out(still: Visitor, count: int) -> None:
    with silent(still.port, count):
        for _ in range(3):
            begun = time.monotonic()
            assert still.get("/style.css").code == 200
            assert time.monotonic() - begun < 1, "at once"
        assert len(still.running._server.active_channels) <= MOST + 1
    assert still.get("/").code == 200


def ended(line: socket.socket) -> bool:
    line.settimeout(10)
    try:
        return line.recv(1) == b""
    except ConnectionError:
        return True


@pytest.mark.parametrize("said", SILENCE)
def test_who_says_nothing_for_long_is_no_longer_listened_to(
    still: Visitor, monkeypatch: pytest.MonkeyPatch, said: bytes
) -> None:
    monkeypatch.setattr(connections, "PATIENCE", 0.5)
    with socket.create_connection(("127.0.0.1", still.port), timeout=10) as line:
        line.sendall(said)
        assert ended(line)


def test_a_letter_now_and_then_is_no_help(still: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "PATIENCE", 1)
    with socket.create_connection(("127.0.0.1", still.port), timeout=10) as line:
        begun = time.monotonic()
        with pytest.raises(ConnectionError):
            for letter in b"GET /" + b"x" * 100:
                line.sendall(bytes([letter]))
                time.sleep(0.1)
        assert time.monotonic() - begun < 6


def test_who_asks_and_takes_no_answer_is_let_go(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "PATIENCE", 0.5)
    with served(desk) as visitor:
        visitor.running.application.style = "x" * 8_000_000
        visitor.enter()
        asked = f"GET {visitor.root}/style.css HTTP/1.1\r\nHost: {visitor.host}\r\nCookie: {visitor.cookie}\r\n\r\n"
        with socket.create_connection(("127.0.0.1", visitor.port), timeout=10) as line:
            line.sendall(asked.encode())
            deadline = time.monotonic() + 8
            while time.monotonic() < deadline and (time.sleep(0.2) or visitor.running._server.active_channels):
                pass
            assert not visitor.running._server.active_channels


def test_a_page_that_takes_long_is_waited_for(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "PATIENCE", 0.3)

    def slow(_: object) -> Page:
        time.sleep(2)
        return Page("no_merge.html.j2", {"last": None})

    monkeypatch.setitem(PAGES, "/check", slow)  # type: ignore[arg-type]
    with served(desk) as visitor:
        visitor.enter()
        assert visitor.get("/check").code == 200
