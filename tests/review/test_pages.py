"""What the pages show: the same as the commands, on the example show."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvc.history.archive import Archive
from showvc.paths import letters, talk_paths
from showvc.review.matrix import ACROSS, DOWN, NOBODY, Wanted, departments, table
from tests.generator import random_show
from tests.history.desk import Desk
from tests.report.plots import plot
from tests.review.visitor import Visitor, served


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    desk = Desk.begun(tmp_path_factory.mktemp("pages") / "show")
    desk("mark", "tarnhollow")
    desk("set", "users/sm/channels/fly/talk", "none", code=None)
    desk("record", "--note", "Fly cues go by light")
    desk("set", "groups/lx/label", "LIGHT")
    return desk


@pytest.fixture(scope="module")
def visitor(desk: Desk) -> Iterator[Visitor]:
    with served(desk) as found:
        found.enter()
        yield found


def test_now_tells_what_the_command_tells_and_what_the_open_edits_do(desk: Desk, visitor: Visitor) -> None:
    text = visitor.get("/").text
    for line in desk("now").out.splitlines():
        name, _, told = line.partition(":")
        assert f"{name.strip()} {' '.join(told.split())}" in text
    assert "group LX (Lights): label is now LIGHT, was LX not recorded yet" in text


def test_any_two_sources_are_compared_in_the_words_of_compare(desk: Desk, visitor: Visitor) -> None:
    text = visitor.get("/compare?before=tarnhollow&after=last").text
    assert "(edit: users/sm/channels/fly/talk by Ada Rook)" in text, "the page names the engineer beside the edit"
    text = text.replace("talk by Ada Rook)", "talk)")
    for line in desk("compare", "tarnhollow", "last").out.splitlines():
        words = line.strip(" +-~:")
        if words and "Caution" not in line and "show." not in line:
            assert words in text, line
    assert "Ada Rook, " in text and "Fly cues go by light" in text


def test_the_history_leads_to_what_each_snapshot_changed(visitor: Visitor) -> None:
    html = visitor.get("/history").html
    links = [link.replace("&amp;", "&") for link in re.findall(r'href="([^"]*/compare\?[^"]*)"', html)]
    assert len(links) == 2
    assert (
        "SM can no longer talk on group FLY; Deck Manager (asm) hears SM no other way" in visitor.knock(links[0]).text
    )


def test_the_matrix_shows_every_pair_and_leads_to_why(desk: Desk, visitor: Visitor) -> None:
    html = visitor.get("/paths?of=tarnhollow").html
    cell = re.search(r'href="([^"]*)" title="Deck Manager \(asm\) hears SM\?">(..?)<', html)
    assert cell is not None and cell[2] == "K?", "on a key, and the listener can switch it off"
    why = visitor.knock(cell[1].replace("&amp;", "&")).text
    for line in desk("paths", "sm", "asm", "--of", "tarnhollow").out.splitlines():
        assert " ".join(line.split()) in why
    now = visitor.get("/paths/pair?talker=sm&listener=asm").text
    assert "Deck Manager (asm) can't hear SM." in now and "showvc set users/sm/channels/fly/talk momentary" in now


def test_a_way_is_a_line_of_its_own_whose_rest_is_set_in(visitor: Visitor) -> None:
    for path, deep in (("/paths/reach?user=sm", 1), ("/paths/pair?talker=sm&listener=asm", 3)):
        html = visitor.get(path).html
        assert "<pre" not in html and f'<p class="line in-{deep}">' in html, path
    assert '<p class="line in-2 code">showvc set' in visitor.get("/paths/pair?talker=sm&listener=asm").html
    assert "<h2>SM hears" in visitor.get("/paths/reach?user=sm").html


def test_a_source_is_said_to_be_no_file_here(visitor: Visitor) -> None:
    assert "a snapshot's code or a time" in visitor.get("/check?of=zzzz").text


def test_the_folder_is_opened_once_for_a_page(visitor: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[Path] = []
    known = Archive.open
    monkeypatch.setattr(Archive, "open", lambda folder: opened.append(folder) or known(folder))
    visitor.get("/")
    assert len(opened) == 1


def test_one_user_s_reach(desk: Desk, visitor: Visitor) -> None:
    assert " ".join(desk("paths", "sm").out.split()) in visitor.get("/paths/reach?user=sm").text


def test_key_sheets_are_found_by_device_user_and_place(visitor: Visitor) -> None:
    assert visitor.get("/keysheets").text.count("Not under a key") + 1 >= 1
    for find, there in (("prompt", True), ("asm", False), ("SM", True), ("nothing-like-it", False)):
        assert ("desk-01 · Prompt desk" in visitor.get(f"/keysheets?find={find}").text) == there, find
    assert "No device of that kind" in visitor.get("/keysheets?find=nothing-like-it").text


def test_check_tells_what_the_command_tells(desk: Desk, visitor: Visitor) -> None:
    text = visitor.get("/check").text
    assert " ".join(desk("check", code=None).out.splitlines()[0].split()) in text  # the verdict
    for found in desk.json("check", code=None)["findings"]:
        assert found["code"] in text and found["message"] in text


def test_nothing_open_is_said_with_the_way_to_begin(visitor: Visitor) -> None:
    assert "No merge is open Begin one in the terminal: showvc merge SOURCE." in visitor.get("/merge").text


def test_every_page_has_landmarks_a_skip_link_one_title_and_labelled_fields(visitor: Visitor) -> None:
    for path in ("/", "/compare", "/history", "/paths", "/keysheets", "/check", "/merge", "/nothing"):
        html = visitor.get(path).html
        assert html.count("<main ") == html.count("<nav ") == html.count("<h1>") == 1, path
        assert '<a class="skip" href="#content">' in html and '<html lang="en">' in html
        fields = re.findall(r'<(?:input|select) id="([^"]+)"', html)
        assert set(fields) <= set(re.findall(r'<label for="([^"]+)"', html)), path
        assert len(re.findall(r"<(?:input|select)(?! type=\"hidden\")", html)) == len(fields)
        if path != "/nothing":
            assert f'<a href="{visitor.root}{path}" aria-current="page">' in html


def test_no_template_works_anything_out() -> None:
    from showvc.review import server

    for path in Path(server.HERE).glob("*.j2"):
        assert not re.search(r"\b(loads|sorted|lambda|import os|__)\b", path.read_text()), path


# --- the matrix itself


def test_every_letter_is_what_the_paths_say() -> None:
    show = random_show(3, 30, 12, 12, 5, 6)
    paths = talk_paths(show)
    found = table(paths, Wanted())
    for talker, cells in found.rows:
        assert [cell.letter for cell in cells] == letters(paths, talker, [cell.listener for cell in cells])
        for cell in cells:
            assert (cell.letter not in "-·") == paths.surely.holds(talker, cell.listener), (talker, cell.listener)


def test_large_shows_come_in_pages_and_nobody_is_left_out() -> None:
    show = random_show(4, 130, 12, 12, 5, 4)
    paths = talk_paths(show)
    first = table(paths, Wanted())
    assert (first.talkers.pages, first.listeners.pages) == (-(-130 // DOWN), -(-130 // ACROSS))
    talkers = [
        name for page in range(1, first.talkers.pages + 1) for name in table(paths, Wanted(down=page)).talkers.users
    ]
    listeners = [
        name
        for page in range(1, first.listeners.pages + 1)
        for name in table(paths, Wanted(across=page)).listeners.users
    ]
    assert talkers == listeners == list(paths.surely.positions)
    assert table(paths, Wanted(down=999)).talkers.page == first.talkers.pages


def test_departments_and_names_narrow_it_down() -> None:
    show = plot()
    paths = talk_paths(show)
    assert departments(show) == ["rail", "stage", "(circuits)"]
    found = table(paths, Wanted(talk="stage", hear="rail"))
    assert (found.talkers.users, found.listeners.users) == (("sm",), ("flyman",))
    assert table(paths, Wanted(find="CUE")).talkers.users == ("flyman",)
    assert table(paths, Wanted(find="nobody")).talkers.users == ()
    assert departments(plot(users={"x": {}})) == [NOBODY, "(circuits)"]
