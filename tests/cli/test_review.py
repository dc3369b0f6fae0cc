"""`review` as it is typed: it says where to look, answers there, and ends with Ctrl-C in our words."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from tests.history.desk import ENGINEER, Desk

ROOT = Path(__file__).parents[2]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def begun(desk: Desk, *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", "from showvc.cli import main; main()", "review", "--no-open", *arguments],
        cwd=desk.folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "SHOWVC_WHO": ENGINEER},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_it_prints_the_address_answers_there_and_ends_with_ctrl_c(desk: Desk) -> None:
    running = begun(desk)
    try:
        assert running.stdout is not None
        address = running.stdout.readline().removeprefix("Look at: ").strip()
        assert running.stdout.readline() == "The address works once, and on this machine only. End with Ctrl-C.\n"
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        page = opener.open(address, timeout=30).read().decode()
        assert "Where the show stands" in page and "The Salt Road" in page
    finally:
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=30)
    assert running.returncode == 0
    assert (out, err) == ("", "\nshowvc: the review page is closed; what was settled is kept.\n")


def test_json_gives_the_address(desk: Desk) -> None:
    running = begun(desk, "--json")
    try:
        assert running.stdout is not None
        assert running.stdout.readline() == "{\n"
        assert '"address": "http://127.0.0.1:' in running.stdout.readline()
    finally:
        running.send_signal(signal.SIGINT)
        running.communicate(timeout=30)


def test_no_browser_of_the_terminal_is_ever_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    """`webbrowser` would start one where there is no screen, and wait for its end."""
    from showvc.cli import review

    monkeypatch.setattr(sys, "platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    assert not review._has_screen()
    monkeypatch.setenv("WAYLAND_DISPLAY", "wayland-0")
    assert review._has_screen()


def test_a_port_that_is_taken_ends_with_3_and_the_way_out(desk: Desk) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        answer = desk("review", "--no-open", "--port", port, code=3)
    assert answer.err.startswith(f"showvc: port {port} cannot be used: ")
    assert "(name another with --port, or none for a free one)" in answer.err


def test_without_a_show_there_is_nothing_to_review(tmp_path: Path) -> None:
    answer = Desk(tmp_path)("review", "--no-open", code=2)
    assert "is no show" in answer.err
