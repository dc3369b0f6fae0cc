"""The review in a real browser: the keyboard alone reaches everything, and settles a conflict."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests import browser as browsers
from tests.browser import CONTROLS, EMPTY_SCROLL, LOW_CONTRAST, OVERFLOW, UNNAMED, Watched, tabbed
from tests.history.desk import ENGINEER, Desk
from tests.review.visitor import Visitor, clash, served

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PATHS = (
    "/",
    "/compare?before=last-1&after=last",
    "/history",
    "/paths",
    "/paths/pair?talker=sm&listener=asm",
    "/paths/reach?user=sm",
    "/keysheets",
    "/check",
    "/merge",
)


@pytest.fixture(autouse=True)
def who(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWVC_WHO", ENGINEER)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    browsers.require()
    with browsers.opened() as found:
        yield found


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return clash(tmp_path / "show")


@pytest.fixture
def visitor(desk: Desk) -> Iterator[Visitor]:
    with served(desk) as found:
        yield found


def entered(browser: Browser, visitor: Visitor, width: int = 1280, scheme: str = "dark") -> Watched:
    watched = Watched(browser, width, scheme)
    watched.page.goto(visitor.running.address)
    assert watched.page.url == f"{visitor.base}/"
    return watched


@pytest.mark.parametrize(("width", "scheme"), [(1280, "dark"), (400, "dark"), (1280, "light")])
def test_every_page_is_legible_fits_its_window_and_asks_nobody_else(
    browser: Browser, visitor: Visitor, width: int, scheme: str
) -> None:
    watched = entered(browser, visitor, width, scheme)
    for path in PATHS:
        watched.page.goto(f"{visitor.base}{path}")
        assert watched.page.evaluate(OVERFLOW) <= 0, path
        found = watched.page.evaluate(LOW_CONTRAST)
        assert found["seen"] > 10 and found["low"] == [], path
        assert watched.page.evaluate(UNNAMED) == [], path
        assert watched.page.evaluate(EMPTY_SCROLL) == [], path
    assert watched.said == []
    assert watched.elsewhere(f"{visitor.base}/") == []


def test_who_has_no_key_is_told_so_in_the_dark_and_sees_nothing_of_the_show(browser: Browser, visitor: Visitor) -> None:
    entered(browser, visitor)
    stranger = Watched(browser, scheme="light")
    stranger.page.goto(visitor.running.address)
    assert stranger.page.evaluate("() => getComputedStyle(document.body).color") == "rgb(255, 255, 255)"
    assert "The Salt Road" not in stranger.page.content()
    assert stranger.page.locator("nav a, main a").count() == 0, "every link would be refused too"


def test_the_heads_of_the_matrix_stay_in_sight(browser: Browser, visitor: Visitor) -> None:
    watched = entered(browser, visitor, 400)
    watched.page.goto(f"{visitor.base}/paths")
    places = watched.page.evaluate(
        "() => [...document.querySelectorAll('.matrix thead th, .shares tbody th')].map(e => getComputedStyle(e).position)"
    )
    assert len(places) > 3 and set(places) == {"sticky"}


def test_it_is_dark_unless_light_is_asked_for(browser: Browser, visitor: Visitor) -> None:
    watched = entered(browser, visitor)
    ground = "() => getComputedStyle(document.body).backgroundColor"
    assert watched.page.evaluate(ground) == "rgb(16, 20, 24)"
    watched.page.emulate_media(media="print")
    assert watched.page.evaluate(ground) == "rgb(255, 255, 255)"


@pytest.mark.parametrize("path", PATHS)
def test_tab_reaches_every_control_in_order_and_a_frame_shows_where_it_is(
    browser: Browser, visitor: Visitor, path: str
) -> None:
    watched = entered(browser, visitor)
    watched.page.goto(f"{visitor.base}{path}")
    found = tabbed(watched.page)
    assert len(found) == watched.page.evaluate(CONTROLS), path
    places = [each["place"] for each in found]
    assert places == sorted(places)
    assert all(each["outline"] for each in found)


def test_the_first_tab_skips_to_the_content(browser: Browser, visitor: Visitor) -> None:
    watched = entered(browser, visitor)
    watched.page.keyboard.press("Tab")
    assert watched.page.evaluate("() => document.activeElement.textContent") == "Skip to the content"
    box = watched.page.evaluate("() => document.activeElement.getBoundingClientRect().left")
    assert box >= 0, "it comes into sight"
    watched.page.keyboard.press("Enter")
    assert watched.page.evaluate("() => document.activeElement.id") == "content"


def pressed(watched: Watched, name: str) -> None:
    """Goes to a button with Tab and presses it with Enter."""
    for _ in range(300):
        watched.page.keyboard.press("Tab")
        if watched.page.evaluate("() => document.activeElement.textContent.trim()") == name:
            with watched.page.expect_navigation():
                watched.page.keyboard.press("Enter")
            return
    raise AssertionError(f"no button {name!r} was reached")


def test_a_merge_is_settled_by_the_keyboard_alone(browser: Browser, desk: Desk, visitor: Visitor) -> None:
    watched = entered(browser, visitor)
    pressed(watched, "Merge")
    assert watched.page.title().startswith("Merge, 3 to settle")
    pressed(watched, "Take mine")
    assert watched.page.title().startswith("Merge, 2 to settle")
    pressed(watched, "Take incoming")
    assert watched.page.title().startswith("Merge, 1 to settle")
    for _ in range(100):
        watched.page.keyboard.press("Tab")
        if watched.page.evaluate("() => document.activeElement.tagName") == "INPUT":
            break
    watched.page.keyboard.type("open")
    pressed(watched, "Take this value")
    assert watched.page.title().startswith("Merge, 0 to settle"), "SND over both edits is lost: that is shown first"
    pressed(watched, "Record the merge")
    assert watched.page.title().startswith("Recorded")
    assert "lx: {number: 1, talk: open}" in desk.read("users/sm.yaml")
    assert desk.json("now")["conflicts"] == 0
    assert watched.said == []


def test_enter_in_the_field_of_a_value_takes_the_value(browser: Browser, desk: Desk, visitor: Visitor) -> None:
    watched = entered(browser, visitor)
    watched.page.goto(f"{visitor.base}/merge")
    watched.page.locator("section.conflict").last.locator("input[name=value]").fill("open")
    with watched.page.expect_navigation():
        watched.page.keyboard.press("Enter")
    assert watched.page.title().startswith("Merge, 2 to settle")
    assert desk.json("undo", "--list")["operations"][0]["command"] == "settle 3 --value open"


def test_another_site_cannot_press_a_button_nor_look(
    browser: Browser, desk: Desk, visitor: Visitor, tmp_path: Path
) -> None:
    watched = entered(browser, visitor)
    stranger = tmp_path / "stranger.html"
    stranger.write_text(
        f'<form method="post" action="{visitor.base}/merge/drop"><button>win</button></form>'
        f'<iframe src="{visitor.base}/merge"></iframe>'
    )
    page = watched.page.context.new_page()
    page.goto(stranger.as_uri())
    assert page.frames[1].locator("section.conflict").count() == 0
    page.get_by_text("win").click()
    page.wait_for_load_state()
    assert "That was not done" in page.content()
    assert desk.json("now", code=None)["conflicts"] == 3


class _Listening(BaseHTTPRequestHandler):
    """Another server of this machine: writes down what a browser hands it, and is a page with a form for the review."""

    def do_GET(self) -> None:
        self.server.heard.append((self.path, self.headers.get("Cookie")))  # type: ignore[attr-defined]
        body = self.server.page.encode()  # type: ignore[attr-defined]
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture
def neighbour() -> Iterator[ThreadingHTTPServer]:
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Listening)
    server.heard, server.page = [], ""  # type: ignore[attr-defined]
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.shutdown()
    server.server_close()


def test_another_server_of_this_machine_does_not_get_the_cookie(
    browser: Browser, visitor: Visitor, neighbour: ThreadingHTTPServer
) -> None:
    watched = entered(browser, visitor)
    (kept,) = watched.page.context.cookies()
    assert kept["path"] == f"{visitor.root}/" and kept["httpOnly"] and kept["sameSite"] == "Strict"
    for host in ("127.0.0.1", "localhost"):
        for path in ("/", "/merge", visitor.root[:-1], "/x/"):
            watched.page.goto(f"http://{host}:{neighbour.server_port}{path}")
    heard = neighbour.heard  # type: ignore[attr-defined]
    assert len(heard) >= 8 and {cookie for _, cookie in heard} == {None}
    watched.page.goto(f"{visitor.base}/merge")
    assert watched.page.title().startswith("Merge, 3 to settle"), "it is still let in"


def test_a_page_of_another_port_cannot_look_or_press_even_if_it_knew_the_path(
    browser: Browser, desk: Desk, visitor: Visitor, neighbour: ThreadingHTTPServer
) -> None:
    """For a browser all ports of one host are one site, so SameSite does not stop this (RFC 6265bis, 5.2)."""
    watched = entered(browser, visitor)
    neighbour.page = (  # type: ignore[attr-defined]
        f'<form method="post" action="{visitor.base}/merge/drop"><button>win</button></form>'
        f'<a href="{visitor.base}/merge">look</a><link rel="stylesheet" href="{visitor.base}/style.css">'
    )
    for word in ("win", "look"):
        page = watched.page.context.new_page()
        page.goto(f"http://127.0.0.1:{neighbour.server_port}/")
        page.get_by_text(word).click()
        page.wait_for_url(f"{visitor.base}/**")
        assert "That was not done" in page.content() and page.locator("section.conflict").count() == 0
    assert desk.json("now", code=None)["conflicts"] == 3
