"""A small plot of The Salt Road with a drawing of every sort, and texts as an attacker would write them."""

from __future__ import annotations

import base64
import hashlib
import re
from html.parser import HTMLParser
from typing import Any

from showvc.document import Show, show_from_tree

HOSTILE = "<script>alert(1)</script><img src=//x.invalid onerror=alert(2)>\"'&{{ 7*7 }}</style>"

PLOT: dict[str, Any] = {
    "title": "The Salt Road",
    "kinds": {"panel-15x2": {"keys": 15, "pages": 2}},
    "circuits": {"house-a": {"name": "House party line A"}},
    "lines": {"alarm": {"label": "ALARM", "critical": True}},
    "groups": {
        "lx": {"name": "Lights", "label": "LX"},
        "fly": {"name": "Fly Rail", "label": "FLY", "critical": True},
    },
    "users": {
        "sm": {
            "name": "Stage Manager",
            "label": "SM",
            "department": "stage",
            "channels": {"lx": {"number": 1, "talk": "latch"}, "fly": {"number": 2, "talk": "momentary"}},
            "lines": {"alarm": {"talk": "momentary"}},
        },
        "flyman": {
            "name": "Fly Cue",
            "department": "rail",
            "channels": {"fly": {"number": 1, "talk": "dual", "listen": "always"}},
        },
    },
    "devices": {
        "desk-01": {
            "name": "Prompt desk",
            "kind": "desk-8",
            "user": "sm",
            "place": "Prompt corner",
            "keys": {"A1": "lx", "A2": "fly", "A8": "alarm"},
        },
        "if-01": {"kind": "ports-2"},
        "pack-01": {"kind": "pack-2", "user": "flyman", "keys": {"A1": "fly"}},
        "panel-01": {"kind": "panel-15x2", "user": "sm", "keys": {"B15": "lx"}},
    },
    "bridges": {"old": {"kind": "two-wire", "device": "if-01", "port": 2, "target": "fly", "circuit": "house-a"}},
}


def plot(**sections: Any) -> Show:
    return show_from_tree({**PLOT, **sections})


class Seen(HTMLParser):
    """A page taken apart: its tags with their attributes, and its text as a reader sees it."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self._inside: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag in ("style", "script"):
            self._inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in ("style", "script"):
            self._inside.pop()

    def handle_data(self, data: str) -> None:
        if not self._inside:
            self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).split()).replace(" ,", ",")

    def of_class(self, name: str) -> list[str]:
        """The tags of the elements that have this class."""
        return [tag for tag, attributes in self.tags if name in (attributes.get("class") or "").split()]


def assert_stands_alone(html: str) -> None:
    """Nothing is run, nothing is fetched, and the policy of the page lets in its own style sheet alone."""
    seen = Seen(html)
    names = {tag for tag, _ in seen.tags}
    assert not names & {"script", "img", "iframe", "object", "embed", "link", "form", "svg", "base"}
    for tag, attributes in seen.tags:
        assert not {name for name in attributes if name.startswith("on") or name in ("style", "src")}, (tag, attributes)
        assert (attributes.get("href") or "#").startswith("#"), (tag, attributes)
    (style,) = re.findall(r"<style>(.*?)</style>", html, re.DOTALL)
    assert "url(" not in style and "@import" not in style
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    (policy,) = (each["content"] for tag, each in seen.tags if each.get("http-equiv") == "Content-Security-Policy")
    assert policy == f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
