"""Every file is hostile: whatever stands in it, the answer is a show or a ShowError, soon, and never a traceback."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import MachineError, ShowError
from showvc.formats import read
from showvc.formats.atomic import write_atomically
from showvc.formats.files import Place, canonical, place_of, read_file, rewritten
from showvc.formats.folder import places, read_bytes, read_folder
from showvc.formats.single import read_single, single_text
from tests.strategies import shows

HEAD = "format: 2\ntitle: The Salt Road\n"


def refused(text: str | bytes, path: str = "groups/fly.yaml") -> list[Any]:
    place = place_of(path)
    assert place is not None
    with pytest.raises(ShowError) as caught:
        read_file(place, text if isinstance(text, bytes) else text.encode())
    return list(caught.value.problems)


def only(text: str | bytes, path: str = "groups/fly.yaml") -> tuple[str, int | None, int | None]:
    (problem,) = refused(text, path)
    return problem.message, problem.line, problem.column


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "show.yaml").write_text(HEAD)
    for section in ("groups", "users"):
        (tmp_path / section).mkdir()
    return tmp_path


# --- bytes and characters --------------------------------------------------------------------------------------------


def test_a_nul_byte_is_told_with_its_place() -> None:
    assert only("name: Fly\nlabel: F\0LY\n") == ("holds the control character U+0000", 2, 9)


def test_bytes_that_are_no_utf_8_are_told_with_their_line() -> None:
    assert only(b"name: Fly\nlabel: \xff\n") == ("is not UTF-8 text: byte 0xFF", 2, None)
    assert only("name: \ud800\n".encode("utf-8", "surrogatepass"))[0] == "is not UTF-8 text: byte 0xED"
    assert only("name: Fly\n".encode("utf-16"))[0] == "is not UTF-8 text: byte 0xFF"


@pytest.mark.parametrize("path", ["salt.json", "salt.yaml"])
@pytest.mark.parametrize("where", ['"title": "\\ud800"', '"extra": {"a": "x\\udfff"}', '"extra": {"\\ud800": 1}'])
def test_half_a_surrogate_pair_is_refused(path: str, where: str) -> None:
    with pytest.raises(ShowError, match=r"surrogate|U\+D800"):
        read_single(f'{{"format": 2, {where}}}'.encode(), path)


def test_a_whole_surrogate_pair_is_its_character() -> None:
    for path in ("salt.json", "salt.yaml"):
        show = read_single(b'{"format": 2, "title": "\\ud83c\\udfad", "extra": {"a": "\\ud83c\\udfad"}}', path)
        assert (show.title, show.head.extra) == ("\U0001f3ad", {"a": "\U0001f3ad"})


@pytest.mark.parametrize("char", ["\u202e", "\u2066", "\u200e\u202d"])
def test_overrides_of_the_direction_of_text_are_refused(char: str) -> None:
    assert "overrides the direction" in only(f"name: Fly {char}\n")[0]


def test_letters_and_accents_are_one_spelling() -> None:
    decomposed = read_file(Place("groups", "a"), "name: Cafe\u0301\n".encode())
    assert canonical(decomposed) == "name: Café\n"


def test_tabs_between_words_are_read_and_tabs_as_indent_are_refused() -> None:
    body = read_file(Place("groups", "a"), b"name:\tFly\ntags:\t[a,\tb]\t# x\n")
    assert canonical(body) == "name: Fly\ntags: [a, b]\n"
    message, line, column = only("name: Fly\nextra:\n\ta: 1\n")
    assert message.startswith("is not readable as YAML")
    assert (line, column) == (3, 1)


# --- size and depth --------------------------------------------------------------------------------------------------


def test_a_file_of_five_mebibytes_is_refused_by_its_size(folder: Path) -> None:
    (folder / "groups" / "fly.yaml").write_bytes(b"name: Fly\n#" + b"x" * (5 * 1024 * 1024))
    with pytest.raises(ShowError, match=r"fly\.yaml: is 5\.0 MiB large; at most 4 MiB are read"):
        read_folder(folder)


def test_a_far_too_large_file_is_not_read_at_all(folder: Path) -> None:
    with (folder / "groups" / "fly.yaml").open("wb") as stream:
        stream.truncate(2**40)  # a sparse file: a terabyte on no disk
    with pytest.raises(ShowError, match=r"is 1048576\.0 MiB large; at most 4 MiB are read"):
        read_bytes(folder, "groups/fly.yaml")


def test_of_a_document_that_is_not_read_to_its_end_no_size_is_made_up(tmp_path: Path) -> None:
    place = tmp_path / "large.show.json"
    with place.open("wb") as stream:
        stream.truncate(2 * 1024**3)
    with pytest.raises(ShowError, match=r"large\.show\.json: is too large; at most 64 MiB are read"):
        read(place)


def test_a_document_nested_beyond_measure_is_refused_in_our_words() -> None:
    with pytest.raises(ShowError, match=r"is nested more deeply than any show$"):
        read_single(b"[" * 100_000, "deep.show.json")


BOMB = "extra:\n  a: &a [x, x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"  {name}: &{name} [{', '.join(['*' + before] * 10)}]\n"
    for before, name in zip("abcdefghij", "bcdefghijk", strict=True)
)


def test_anchors_that_repeat_themselves_beyond_measure_are_refused() -> None:
    assert only(BOMB)[0] == "repeats itself through anchors beyond measure"


def test_an_anchor_within_itself_is_refused() -> None:
    assert "refers to *a" in only("extra: &a {b: *a}\n")[0]
    assert "refers to *a" in only("extra: {b: *a}\n")[0]


def test_a_modest_anchor_is_read_as_the_values_it_stands_for() -> None:
    body = read_file(Place("users", "sm"), b"channels:\n  lx: &c {number: 1}\nextra: {a: &x [1], b: *x}\n")
    assert canonical(body) == "channels:\n  lx: {number: 1}\nextra:\n  a: [1]\n  b: [1]\n"


@pytest.mark.parametrize("depth", [60, 3000, 200_000])
@pytest.mark.parametrize("path", ["a.yaml", "a.json"])
def test_deep_nesting_is_refused(depth: int, path: str) -> None:
    text = '{"format": 2, "extra": {"a": ' + "[" * depth + "]" * depth + "}}"
    with pytest.raises(ShowError, match="nested"):
        read_single(text.encode(), path)
    message = refused("extra:\n" + "".join(" " * level + "a:\n" for level in range(1, min(depth, 500))))[0].message
    assert "is nested or repeated beyond" in message


def test_extra_may_be_as_deep_as_every_form_can_carry() -> None:
    deep: Any = "bottom"
    for _ in range(31):
        deep = [deep]
    text = json.dumps({"format": 2, "users": {"sm": {"channels": {"lx": {"number": 1, "extra": {"a": deep}}}}}})
    show = read_single(text.encode(), "a.json")
    assert read_single(single_text(show).encode(), "a.yaml") == show


@pytest.mark.parametrize(
    ("extra", "message"),
    [
        ('{"a": 1e400}', "inf is not a JSON number"),
        ('{"a": ' + "9" * 400 + "}", "a whole number of more than 300 digits"),
        ('{"a": ' + "9" * 9000 + "}", "a number of thousands of digits"),
        ('{"' + "k" * 2000 + '": 1}', "holds a name of 2000 characters; at most 200 are allowed"),
        ('{"a": NaN}', "holds NaN, which is not JSON"),
    ],
)
def test_what_no_other_form_could_carry_is_refused(extra: str, message: str) -> None:
    with pytest.raises(ShowError, match=message):
        read_single(f'{{"format": 2, "extra": {extra}}}'.encode(), "a.json")


def test_a_document_far_larger_than_its_things_is_refused() -> None:
    text = HEAD + "notes: |\n" + "  padding\n" * 700_000
    with pytest.raises(ShowError, match=r"is 6\.7 MiB for 0 things"):
        read_single(text.encode(), "a.yaml")
    with pytest.raises(ShowError, match=r"is 4\.3 MiB for 0 things"):
        read_single((HEAD + f'extra: {{a: "{"x" * 4_500_000}"}}\n').encode(), "a.yaml")


def test_of_thousands_of_faults_the_first_are_told() -> None:
    twice = refused("name: a\n" * 5000)
    assert len(twice) == 101
    assert twice[-1].message == "and more that is wrong here"
    unknown = refused("".join(f"a{number}: b\n" for number in range(5000)))
    assert len(unknown) == 101
    assert {problem.message for problem in unknown} >= {"unknown field 'a0'", "and 4900 more here"}


# --- YAML's own tricks -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "tag", ["!!python/object/apply:os.system [ls]", "!!str x", "!own x", "!!binary aGk=", "!!set {a}", "! x"]
)
def test_tags_are_refused_and_never_run(tag: str) -> None:
    message, line, column = only(f"name: {tag}\n")
    assert message.startswith("holds the YAML tag")
    assert (line, column) == (1, 7)


def test_a_merge_key_is_an_unknown_field() -> None:
    messages = [
        problem.message for problem in refused("channels:\n  a: &l {number: 1}\n  b: {<<: *l}\n", "users/sm.yaml")
    ]
    assert messages == ["field 'channels.b.number' is missing", "unknown field '<<'"]


def test_a_name_that_is_no_text_is_refused() -> None:
    assert "a name must be plain text" in only("? [a]\n: b\n")[0]
    assert "a name must be plain text" in only("? {a: b}\n: b\n")[0]


def test_the_version_line_of_yaml_changes_nothing() -> None:
    body = read_file(Place("groups", "a"), b"%YAML 1.1\n---\nname: NO\n...\n")
    assert canonical(body) == 'name: "NO"\n'


HOLLOW = ("", "\n", " \n\n", "# only words\n", "---\n", "\ufeff")


@pytest.mark.parametrize("text", ["{}\n", "{}", "--- {}\n", "# words\n{}\n"])
def test_a_thing_without_fields_has_the_defaults(text: str) -> None:
    assert canonical(read_file(Place("groups", "a"), text.encode())) == "{}\n"


@pytest.mark.parametrize("text", HOLLOW)
@pytest.mark.parametrize("place", [Place("groups", "a"), Place("users", "a"), Place("devices", "a"), Place()], ids=str)
def test_what_a_save_cut_short_leaves_is_no_thing_and_no_show(place: Place, text: str) -> None:
    with pytest.raises(ShowError) as caught:
        read_file(place, text.encode())
    (problem,) = caught.value.problems
    assert (problem.message, problem.file, problem.line) == ("is empty", place.path, 1)
    assert "showvc restore last" in str(problem.way_out)
    assert ("format: 2" if place == Place() else "{}") in str(problem.way_out)


@pytest.mark.parametrize("text", HOLLOW)
def test_an_empty_document_is_no_show(text: str) -> None:
    with pytest.raises(ShowError, match="is empty"):
        read_single(text.encode(), "salt.show.yaml")


@pytest.mark.parametrize(
    "text", ["{}\n", "title: Salt\n", "# format: 2\ntitle: Salt\n", "title: Salt\nnotes: |\n  a\n"]
)
def test_a_show_that_does_not_say_its_format_may_be_what_is_left_of_one(text: str) -> None:
    with pytest.raises(ShowError) as caught:
        read_file(Place(), text.encode())
    (problem,) = caught.value.problems
    assert (problem.message, problem.file, problem.line) == ("field 'format' is missing", "show.yaml", 1)
    assert "add: format: 2" in str(problem.way_out)


@pytest.mark.parametrize(
    ("path", "text"),
    [("salt.yaml", "title: Salt\n"), ("salt.yaml", "groups: {fly: {}}\n"), ("salt.json", '{"title": "Salt"}')],
)
def test_a_document_that_does_not_say_its_format_is_refused(path: str, text: str) -> None:
    with pytest.raises(ShowError, match="field 'format' is missing"):
        read_single(text.encode(), path)


def test_the_last_field_taken_out_of_a_file_with_words_leaves_one_that_is_read() -> None:
    """What is written in place of the last field is a thing without fields, and its words stay."""
    place = Place("groups", "a")
    text = rewritten(read_file(place, b"{}\n"), "# the loud ones\nname: Lights\n")
    assert "# the loud ones" in text
    assert canonical(read_file(place, text.encode())) == "{}\n"


# --- the folder ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["fly.yaml", "show.yaml", "groups"])
def test_links_are_never_followed(folder: Path, tmp_path_factory: pytest.TempPathFactory, name: str) -> None:
    outside = tmp_path_factory.mktemp("outside")
    (outside / "fly.yaml").write_text("name: Fly\n")
    (outside / "show.yaml").write_text(HEAD)
    if name == "groups":
        (folder / "groups").rmdir()
        (folder / "groups").symlink_to(outside)
    else:
        place = folder / name if name == "show.yaml" else folder / "groups" / name
        place.unlink(missing_ok=True)
        place.symlink_to(outside / name)
    with pytest.raises(ShowError, match="is a link"):
        read_folder(folder)


def test_a_link_to_nowhere_or_to_itself_is_told(folder: Path) -> None:
    (folder / "groups" / "a.yaml").symlink_to(folder / "nowhere")
    (folder / "groups" / "b.yaml").symlink_to(folder / "groups" / "b.yaml")
    with pytest.raises(ShowError) as caught:
        read_folder(folder)
    assert [problem.message for problem in caught.value.problems] == ["is a link, which a show never follows"] * 2


def test_a_pipe_or_a_folder_in_a_files_place_is_told_and_not_waited_for(folder: Path) -> None:
    os.mkfifo(folder / "groups" / "a.yaml")
    (folder / "groups" / "b.yaml").mkdir()
    with pytest.raises(ShowError) as caught:
        read_folder(folder)
    assert [problem.message for problem in caught.value.problems] == ["is not a plain file"] * 2


def test_a_link_that_is_put_there_while_reading_is_not_followed(folder: Path) -> None:
    (folder / "groups" / "fly.yaml").symlink_to(folder / "show.yaml")
    with pytest.raises(ShowError, match="is a link"):
        read_bytes(folder, "groups/fly.yaml")


@pytest.mark.parametrize("name", [".fly.yaml.swp", ".hidden", "fly.yaml~", ".~tmp12"])
def test_what_editors_leave_behind_is_passed_over(folder: Path, name: str) -> None:
    (folder / "groups" / name).write_bytes(b"\0")
    assert not read_folder(folder).groups
    assert places(folder) == ([Place()], [])


def test_a_file_in_a_sections_place_is_told(folder: Path) -> None:
    (folder / "devices").write_text("kind: desk-8\n")
    with pytest.raises(ShowError, match="devices: is a file where a folder is wanted"):
        read_folder(folder)


@pytest.mark.parametrize("name", ["aux", "con", "nul", "prn", "com1", "com9", "lpt1", "lpt0"])
def test_names_that_file_systems_reserve_are_no_ids(folder: Path, name: str) -> None:
    (folder / "users" / f"{name}.yaml").write_text("name: Spare\n")
    with pytest.raises(ShowError, match=f"users/{name}.yaml: '{name}' cannot be an id: some file systems reserve"):
        read_folder(folder)


@pytest.mark.parametrize(
    "name",
    ["Fly.yaml", "fly rail.yaml", "1.yaml", "-a.yaml", "a" * 41 + ".yaml", "fly\n.yaml", "é.yaml", "fly.json", "fly"],
)
def test_other_names_are_told_with_the_way_out(folder: Path, name: str) -> None:
    (folder / "groups" / name).write_text("name: Fly\n")
    with pytest.raises(ShowError) as caught:
        read_folder(folder)
    (problem,) = caught.value.problems
    assert problem.file == str(folder / "groups" / name)
    assert problem.way_out in ("rename the file: its name is the id", "move it out of the show folder")


def test_a_name_that_is_no_unicode_is_told(folder: Path) -> None:
    Path(os.fsdecode(os.fsencode(folder / "groups") + b"/\xff.yaml")).touch()
    with pytest.raises(ShowError) as caught:
        read_folder(folder)
    str(caught.value).encode()  # can be shown


def test_a_folder_that_is_no_show_and_a_file_that_is_none(tmp_path: Path) -> None:
    for path, words in (
        (tmp_path, "holds no show.yaml"),
        (tmp_path / "a.pdf", "nothing that showvc reads"),
        (tmp_path / "a.yaml", "is not there"),
    ):
        with pytest.raises(ShowError, match=words):
            read(path)


def test_a_file_that_may_not_be_read_is_the_machines_fault(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", no)
    with pytest.raises(MachineError, match="cannot be read: Permission denied"):
        read_folder(folder)


# --- anything at all -------------------------------------------------------------------------------------------------


@given(st.data(), shows(), st.sampled_from((".yaml", ".json")))
def test_a_damaged_document_is_a_show_or_an_error_with_words(data: st.DataObject, show: Any, suffix: str) -> None:
    """One to three stretches are cut, doubled, or overwritten with bytes that mean something to a reader."""
    raw = single_text(show, suffix).encode()
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(raw)))
        end = min(len(raw), start + data.draw(st.integers(0, 12)))
        piece = data.draw(st.one_of(st.sampled_from(PIECES), st.just(raw[start:end] * 2), st.binary(max_size=3)))
        raw = raw[:start] + piece + raw[end:]
    answered(raw, f"a{suffix}")


PIECES = (
    b"", b"\0", b"\t", b"\r", b"\xff", b"\xc2\x85", b"\xe2\x80\xa8", b"\xef\xbb\xbf", b": ", b"- ", b"? ", b"*a", b"&a ", b"!a ",
    b"|", b">", b"{", b"}", b"[", b"]", b'"', b"'", b"#", b" #", b"\n---\n", b"\n...\n", b"%YAML 9\n", b"<<: ", b"\\ud800", b"\\x00",
    b"1e999", b"NaN", b"null", b"-", b"extra: ", b"[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[",
)  # fmt: skip


def answered(raw: bytes, name: str) -> None:
    try:
        show = read_single(raw, name)
    except ShowError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.message
            assert problem.file == name
            str(problem).encode()
    else:
        for suffix in (".yaml", ".json"):
            assert read_single(single_text(show, suffix).encode(), f"b{suffix}") == show


@given(st.binary(max_size=60), st.sampled_from(("a.yaml", "a.json")))
def test_any_bytes_are_answered(raw: bytes, name: str) -> None:
    answered(raw, name)


@given(
    st.text(alphabet=" \n\t:-?,[]{}#&*!|>'\"%@`abkeyformatuselx0123456789.~\\é\u2028\x85", max_size=60),
    st.sampled_from(("show.yaml", "users/a.yaml")),
)
def test_any_text_of_yaml_marks_is_answered(text: str, path: str) -> None:
    place = place_of(path)
    assert place is not None
    try:
        body = read_file(place, text.encode())
    except ShowError as error:
        assert all(problem.message and problem.file == path for problem in error.problems)
    else:
        assert read_file(place, canonical(body).encode()) == body


# --- writing ---------------------------------------------------------------------------------------------------------


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(MachineError, match=r"show\.yaml cannot be written: No space left"):
        write_atomically(folder / "show.yaml", "format: 2\n")
    assert (folder / "show.yaml").read_text() == HEAD
    assert sorted(path.name for path in folder.iterdir()) == ["groups", "show.yaml", "users"]


def test_a_write_keeps_the_files_permissions_and_makes_its_folder(folder: Path) -> None:
    (folder / "show.yaml").chmod(0o640)
    write_atomically(folder / "show.yaml", b"format: 2\n")
    assert (folder / "show.yaml").stat().st_mode & 0o777 == 0o640
    write_atomically(folder / "devices" / "desk-01.yaml", "kind: desk-8\n")
    assert (folder / "devices" / "desk-01.yaml").read_text() == "kind: desk-8\n"


def test_a_write_replaces_a_link_and_never_writes_through_it(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    outside = tmp_path_factory.mktemp("outside") / "precious"
    outside.write_text("keep")
    (folder / "groups" / "fly.yaml").symlink_to(outside)
    write_atomically(folder / "groups" / "fly.yaml", "name: Fly\n")
    assert outside.read_text() == "keep"
    assert not (folder / "groups" / "fly.yaml").is_symlink()
