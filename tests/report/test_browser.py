"""The pages on paper in a real browser: nothing fetched, nothing run, legible, and printed as they should be."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from showvc.history.sources import Source
from showvc.report.keysheets import key_sheet_page
from showvc.report.report import report, report_page
from tests import browser as browsers
from tests.browser import EMPTY_SCROLL, LOW_CONTRAST, OVERFLOW, UNNAMED, Watched
from tests.history.desk import Desk, run
from tests.report.plots import HOSTILE, PLOT, plot

if TYPE_CHECKING:
    from playwright.sync_api import Browser

FIXTURES = Path(__file__).parents[2] / "fixtures"
PAPERS = {"A4": (210, 297), "Letter": (215.9, 279.4)}
MILLIMETRE = 96 / 25.4
"""CSS pixels. Source: CSS Values and Units Level 3, 5.2."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    browsers.require()
    with browsers.opened() as found:
        yield found


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A report and the key sheets of the example show, and of one with hostile names."""
    folder = tmp_path_factory.mktemp("pages")
    desk = Desk.begun(folder / "show", {})
    for path in (FIXTURES / "salt-road").rglob("*.yaml"):
        desk.write(str(path.relative_to(FIXTURES / "salt-road")), path.read_text())
    desk.record("First plot")
    desk("set", "users/pyro-watch/channels/pyro/talk", "none", code=None)
    desk("set", "groups/lx/label", "LIGHTS")
    desk("record", "--note", "Edits of a long night")
    desk("report", "last-1", "last", "--into", str(folder / "report.html"))
    desk("keysheets", "--html", str(folder / "sheets.html"))
    groups = {"lx": {"name": HOSTILE, "label": HOSTILE}, "fly": {"name": HOSTILE, "critical": True}}
    hostile = plot(title=HOSTILE, groups=groups)
    found = report(*(Source(HOSTILE, show, file=Path("x")) for show in (plot(), hostile)))
    (folder / "hostile.html").write_text(report_page(found))
    (folder / "hostile-sheets.html").write_text(key_sheet_page(hostile, hostile.devices))
    return {name: folder / f"{name}.html" for name in ("report", "sheets", "hostile", "hostile-sheets")}


NAMES = ("report", "sheets", "hostile", "hostile-sheets")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("scheme", ["dark", "light"])
def test_nothing_is_fetched_nothing_is_run_and_everything_is_legible(
    browser: Browser, pages: dict[str, Path], name: str, scheme: str
) -> None:
    watched = Watched(browser, scheme=scheme)
    watched.page.goto(pages[name].as_uri())
    assert watched.said == []
    assert watched.requests == [pages[name].as_uri()]
    found = watched.page.evaluate(LOW_CONTRAST)
    assert found["seen"] > 50 and found["low"] == []
    assert watched.page.evaluate(UNNAMED) == []


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [1280, 400])
def test_no_page_is_wider_than_its_window(browser: Browser, pages: dict[str, Path], name: str, width: int) -> None:
    watched = Watched(browser, width)
    watched.page.goto(pages[name].as_uri())
    assert watched.page.evaluate(OVERFLOW) <= 0
    assert watched.page.evaluate(EMPTY_SCROLL) == [] or name.startswith("hostile")


def test_the_policy_stops_what_would_get_past_the_escaping(
    browser: Browser, tmp_path: Path, pages: dict[str, Path]
) -> None:
    """The negative control: with a script put into the page by hand, the policy alone stands in its way."""
    page = tmp_path / "slipped.html"
    slipped = "<script>document.title='run'</script><img src='http://127.0.0.1:9/x.png'><style>h1{color:red}</style>"
    page.write_text(pages["report"].read_text().replace("<main>", f"<main>{slipped}"))
    watched = Watched(browser)
    watched.page.goto(page.as_uri())
    assert watched.page.title() != "run"
    assert len(watched.said) >= 3 and all("Content Security Policy" in said for said in watched.said)


@pytest.mark.parametrize("paper", PAPERS)
def test_strips_have_their_millimetres_and_fit_on_the_paper(
    browser: Browser, pages: dict[str, Path], paper: str
) -> None:
    watched = Watched(browser)
    watched.page.goto(pages["sheets"].as_uri())
    watched.page.emulate_media(media="print")
    sizes = watched.page.evaluate(
        "() => [...document.querySelectorAll('.cell')].map(each => [each.getBoundingClientRect().width, each.getBoundingClientRect().height])"
    )
    assert len(sizes) > 100
    for width, height in sizes:
        assert width == pytest.approx(22 * MILLIMETRE, abs=0.1) and height == pytest.approx(9 * MILLIMETRE, abs=0.1)
    widest = watched.page.evaluate(
        "() => Math.max(...[...document.querySelectorAll('.strip')].map(each => each.getBoundingClientRect().width))"
    )
    assert widest <= (PAPERS[paper][0] - 28) * MILLIMETRE


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["report", "sheets"])
def test_pages_print_whole_on_either_paper(browser: Browser, pages: dict[str, Path], name: str, paper: str) -> None:
    watched = Watched(browser)
    watched.page.goto(pages[name].as_uri())
    assert 1 < printed(watched, paper) < 40


def test_what_is_folded_on_the_screen_is_open_on_paper(browser: Browser, tmp_path: Path) -> None:
    many = {f"u{number}": {"name": f"User {number}", "department": "deck"} for number in range(200)}
    shows = (plot(), plot(users={**PLOT["users"], **many}))
    folded = report_page(report(*(Source("x", show, file=Path("x")) for show in shows)))
    assert "<details>" in folded
    lengths = {}
    for name, html in (("folded", folded), ("open", folded.replace("<details>", "<details open>"))):
        (tmp_path / f"{name}.html").write_text(html)
        watched = Watched(browser)
        watched.page.goto((tmp_path / f"{name}.html").as_uri())
        shown = watched.page.get_by_text("User 199").first.is_visible()
        lengths[name] = (shown, printed(watched))
    assert [shown for shown, _ in lengths.values()] == [False, True]
    assert lengths["folded"][1] == lengths["open"][1] > 4


def printed(watched: Watched, paper: str = "A4") -> int:
    """How many pages of paper it takes."""
    pdf = watched.page.pdf(format=paper)
    assert pdf.startswith(b"%PDF-")
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def test_a_small_device_is_not_split_across_pages(browser: Browser, pages: dict[str, Path]) -> None:
    watched = Watched(browser)
    watched.page.goto(pages["sheets"].as_uri())
    watched.page.emulate_media(media="print")
    styles = watched.page.evaluate(
        "() => [...document.querySelectorAll('.device')].map(each => getComputedStyle(each).breakInside)"
    )
    assert len(styles) > 40 and set(styles) == {"avoid"}


def test_the_example_show_is_the_one_drawn(tmp_path: Path) -> None:
    answer = run(tmp_path, "keysheets", str(FIXTURES / "salt-road"), "--html", "sheets.html")
    assert answer.code == 0 and "unit-sm" in (tmp_path / "sheets.html").read_text()
