"""What is written can be read: contrast worked out from the colours of the style sheets, in the dark and on paper.

Source: WCAG 2.2, success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (edges of controls and drawings, 3 to 1), and
its definitions of relative luminance and contrast ratio.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import showvc
from showvc.report.pages import TEMPLATES

HOME = Path(showvc.__file__).parent
TOKEN = re.compile(r"--([a-z-]+): (#[0-9a-f]{6});")
SHEETS = sorted(path for path in HOME.rglob("*.css") if path.name != "colours.css")


def themes() -> dict[str, dict[str, str]]:
    dark, light = (TEMPLATES / "colours.css").read_text().split("@media print, (prefers-color-scheme: light)")
    known = dict(TOKEN.findall(dark))
    return {"dark": known, "light": {**known, **dict(TOKEN.findall(light))}}


def luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def ground_of(token: str, known: dict[str, str]) -> str:
    """The ground that a colour stands on, by its name: `on-card-quiet` and `edge-card` stand on `card`."""
    name = re.sub(r"^(on|edge)-", "", token)
    return next(ground for ground in (name, name.rpartition("-")[0]) if ground in known)


def test_black_on_white_is_21_to_1() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_every_writing_stands_out_from_its_ground(theme: str) -> None:
    known = themes()[theme]
    pairs = [(token, ground_of(token, known)) for token in known if token.startswith("on-")]
    assert len(pairs) >= 10
    low = {pair: contrast(known[pair[0]], known[pair[1]]) for pair in pairs}
    assert not {pair: ratio for pair, ratio in low.items() if ratio < 4.5}


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_every_edge_stands_out_from_its_ground(theme: str) -> None:
    known = themes()[theme]
    edges = [token for token in known if token.startswith("edge-")]
    assert edges
    assert not {edge for edge in edges if contrast(known[edge], known[ground_of(edge, known)]) < 3}


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda path: path.name)
def test_no_colour_is_set_without_its_ground_and_none_but_those_of_the_list(sheet: Path) -> None:
    text = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL)
    known = themes()["dark"]
    assert not re.findall(r"#[0-9a-f]{3,8}\b|rgba?\(|hsla?\(", text), "colours stand in colours.css"
    for selector, rule in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
        colours = re.findall(r"(?<![-\w])color: ([^;]+);", rule)
        for colour in colours:
            token = re.fullmatch(r"var\(--(on-[a-z-]+)\)", colour)
            assert token is not None, (selector, colour)
            assert token[1] in known, (selector, colour)
            ground = re.search(r"background: ([^;]+);", rule)
            assert ground is not None, f"{selector.strip()} sets a colour and leaves its ground to chance"
            assert ground[1] in (f"var(--{ground_of(token[1], known)})", "transparent"), selector
