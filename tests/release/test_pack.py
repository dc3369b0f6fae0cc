"""A release file says what it is, is the same to the byte, and shows every tampering."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.changes import edits
from showvc.changes.caution import CAUTION
from showvc.document import Show, ShowError
from showvc.release.canonical import canonical_json, canonical_show
from showvc.release.gate import Gate
from showvc.release.pack import FACTS, MEMBERS, SHEETS, SHOW, Origin, Since, pack, pack_name, verify
from showvc.release.stamp import stamp_of
from showvc.rules import Finding
from tests.release.salt import salt, salt_with

ORIGIN = Origin("3fa9c21b", "Ada Deck", "2031-03-04T18:05:00+01:00", "After the sitzprobe\nfly cue moved")
LOST = Finding(
    "required-lost",
    "block",
    "/required/sm-fly",
    "SM is not heard by FLY",
    "why",
    "way out",
    ("/required/sm-fly",),
    "9c41f0e2",
)


def since(before: Show, after: Show) -> Since:
    changes = edits(before, after).changes
    return Since(
        stamp_of(before), before, changes, {"lost": [], "gained": [], "strips": ["desk-01"]}, ["new strips: desk-01"]
    )


def members(data: bytes) -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name).decode() for name in archive.namelist()}


def zipped(*files: tuple[str, bytes], method: int = zipfile.ZIP_STORED) -> bytes:
    sink = io.BytesIO()
    with zipfile.ZipFile(sink, "w", method) as archive:
        for name, data in files:
            archive.writestr(zipfile.ZipInfo(name), data, compress_type=method)
    return sink.getvalue()


CLEAN = pack(salt(), ORIGIN, Gate())


# What is in it


def test_it_is_a_zip_file_that_any_machine_opens() -> None:
    assert tuple(members(CLEAN)) == MEMBERS


def test_it_holds_the_show_as_canonical_json_with_its_hash_and_stamp() -> None:
    inside = members(CLEAN)
    facts = json.loads(inside[FACTS])
    assert inside[SHOW].encode() == canonical_show(salt())
    assert facts["sha256"] == hashlib.sha256(inside[SHOW].encode()).hexdigest()
    assert facts["stamp"] == stamp_of(salt())


def test_the_first_page_says_stamp_snapshot_who_when_and_note() -> None:
    page = members(CLEAN)["read-me-first.txt"]
    for said in (
        stamp_of(salt()),
        "3fa9c21b",
        "Ada Deck",
        "2031-03-04T18:05:00+01:00",
        "fly cue moved",
        "first release",
    ):
        assert said in page


def test_the_next_release_lists_every_change_since_the_one_before_and_its_effect() -> None:
    after = salt_with("users", "sm", label="STAGE")
    inside = members(pack(after, ORIGIN, Gate(), since(salt(), after)))
    facts = json.loads(inside[FACTS])
    assert facts["previous"] == stamp_of(salt())
    assert [change["path"] for change in facts["changes"]] == ["/users/sm/label"]
    page = inside["read-me-first.txt"]
    assert page.index("new strips: desk-01") < page.index(facts["changes"][0]["text"])


def test_nothing_changed_is_said_so() -> None:
    assert (
        f"Nothing changed since release {stamp_of(salt())}"
        in members(pack(salt(), ORIGIN, Gate(), since(salt(), salt())))["read-me-first.txt"]
    )


def test_an_override_is_printed_on_every_page() -> None:
    inside = members(pack(salt(), ORIGIN, Gate(overridden=(LOST,), reason="no fly rail in this venue")))
    assert json.loads(inside[FACTS])["over"]["reason"] == "no fly rail in this venue"
    for page in ("read-me-first.txt", SHEETS):
        assert "OVERRIDDEN: no fly rail in this venue" in inside[page]
        assert "SM is not heard by FLY" in inside[page]


def test_warnings_that_stand_are_printed() -> None:
    inside = members(pack(salt(), ORIGIN, Gate(standing=(replace(LOST, severity="warning"),))))
    assert "Warnings that stand:\n  SM is not heard by FLY" in inside["read-me-first.txt"]


def test_the_caution_is_printed_where_a_group_is_critical_and_only_there() -> None:
    def said(show: Show) -> list[bool]:
        inside = members(pack(show, ORIGIN, Gate()))
        return [CAUTION in " ".join(inside[name].split()) for name in ("read-me-first.txt", FACTS, SHEETS)]

    assert said(salt()) == [True, True, True]
    assert said(salt_with("groups", "fly", critical=False)) == [False, False, False]


@pytest.mark.parametrize(
    ("section", "name", "fields", "touched"),
    [
        ("users", "flyman", {"label": "F1"}, []),
        ("users", "sm", {"channels": {"lx": {"number": 1, "talk": "latch"}}}, ["fly"]),
        ("devices", "pack-01", {"keys": {}}, ["fly"]),
        ("devices", "pack-01", {"user": "lxop"}, ["fly"]),
        ("devices", "pack-02", {"keys": {}}, []),
        ("groups", "fly", {"critical": False}, ["fly"]),
        ("users", "new", {"name": "New", "channels": {"fly": {"number": 9}}}, ["fly"]),
    ],
)
def test_it_lists_the_critical_groups_that_were_touched(
    section: str, name: str, fields: dict[str, Any], touched: list[str]
) -> None:
    after = salt_with(section, name, **fields)
    assert json.loads(members(pack(after, ORIGIN, Gate(), since(salt(), after)))[FACTS])["critical"] == touched


def test_what_somebody_wrote_into_a_note_cannot_garble_the_page() -> None:
    origin = replace(ORIGIN, who="\x1b[2JAda\u202e", note="one\x00two\n\x1b]0;title\x07")
    page = members(pack(salt(), origin, Gate()))["read-me-first.txt"]
    assert all(char.isprintable() or char == "\n" for char in page)


def test_a_gate_that_does_not_open_makes_no_file() -> None:
    with pytest.raises(ShowError, match="SM is not heard by FLY"):
        pack(salt(), ORIGIN, Gate(blocks=(LOST,)))


@pytest.mark.parametrize(
    ("title", "name"),
    [("The Salt Road", "the-salt-road"), ("", "show"), ("../../etc", "etc"), ("盐路", "show"), ("x" * 90, "x" * 40)],
)
def test_the_file_is_named_by_title_and_stamp(title: str, name: str) -> None:
    assert pack_name(title, "K7F-2R4-W36H") == f"{name}_K7F-2R4-W36H.release.zip"


# The same bytes


def test_the_same_snapshot_makes_the_same_bytes() -> None:
    assert pack(salt(), ORIGIN, Gate()) == CLEAN
    upside_down = salt(devices=dict(reversed(salt().tree()["devices"].items())))
    assert pack(upside_down, ORIGIN, Gate()) == CLEAN


def test_the_bytes_hold_no_date_and_no_machine() -> None:
    with zipfile.ZipFile(io.BytesIO(CLEAN)) as archive:
        for entry in archive.infolist():
            assert entry.date_time == (1980, 1, 1, 0, 0, 0)
            assert (entry.create_system, entry.compress_type, entry.extra) == (3, zipfile.ZIP_STORED, b"")


# Verifying


def test_a_release_file_is_what_its_stamp_says() -> None:
    verdict = verify(CLEAN)
    assert verdict.holds
    assert verdict.doubts == ()
    assert verdict.stamp == stamp_of(salt())
    assert verdict.show == salt()
    assert verify(CLEAN, stamp=stamp_of(salt()).lower()).holds


def test_a_later_release_holds_too() -> None:
    after = salt_with("users", "sm", label="STAGE")
    gate = Gate(overridden=(LOST,), reason="no fly rail", standing=(LOST,))
    verdict = verify(pack(after, ORIGIN, gate, since(salt(), after)))
    assert (verdict.problems, verdict.doubts) == ((), ())


def test_another_release_than_the_one_asked_for_is_said() -> None:
    other = stamp_of(salt_with("users", "sm", label="STAGE"))
    assert f"is {stamp_of(salt())}, not {other}" in verify(CLEAN, stamp=other).problems[0].message


def test_every_changed_byte_is_found() -> None:
    for place in {*range(0, len(CLEAN), 11), *range(80), *range(len(CLEAN) - 400, len(CLEAN))}:
        tampered = bytearray(CLEAN)
        tampered[place] ^= 1 << (place % 8)
        assert not verify(bytes(tampered)).holds


@given(st.integers(0, len(CLEAN) - 1), st.binary(max_size=6), st.integers(0, 6))
def test_every_splice_is_found(place: int, put: bytes, cut: int) -> None:
    tampered = CLEAN[:place] + put + CLEAN[place + cut :]
    assert verify(tampered).holds == (tampered == CLEAN)


def test_bytes_before_or_after_are_found() -> None:
    assert not verify(CLEAN + b"\0").holds
    assert not verify(b"\0" + CLEAN).holds
    assert not verify(CLEAN + CLEAN).holds


def resealed(**changed: bytes) -> bytes:
    """A file whose members were changed by somebody who then made the sums right."""
    inside: dict[str, bytes] = {name: text.encode() for name, text in members(CLEAN).items()}
    inside.update({name.replace("_", "."): data for name, data in changed.items()})
    sums = "".join(f"{hashlib.sha256(inside[name]).hexdigest()}  {name}\n" for name in MEMBERS[:-1])
    from showvc.release.pack import _zipped

    return _zipped({**inside, "SHA256SUMS": sums.encode()})


def test_a_show_that_was_changed_and_sealed_again_is_found_by_its_stamp() -> None:
    verdict = verify(resealed(show_json=canonical_show(salt_with("users", "sm", label="STAGE"))))
    assert f"says it is {stamp_of(salt())}" in verdict.problems[0].message


def test_a_show_that_is_not_canonical_or_not_a_show_is_found() -> None:
    def dressed(document: bytes) -> bytes:
        from showvc.release.stamp import stamp_from_hash

        digest = hashlib.sha256(document).hexdigest()
        facts = json.loads(members(CLEAN)[FACTS]) | {"sha256": digest, "stamp": stamp_from_hash(digest)}
        return resealed(show_json=document, release_json=canonical_json(facts) + b"\n")

    spaced = json.dumps(salt().tree()).encode()
    assert "not canonical" in verify(dressed(spaced)).problems[0].message
    assert "unknown field" in verify(dressed(b'{"format":2,"tour":2}')).problems[0].message
    assert "two productions" in verify(dressed(b'{"format":2,"title":"Another"}')).problems[0].message


def test_key_sheets_that_were_changed_and_sealed_again_leave_a_doubt() -> None:
    verdict = verify(resealed(keysheets_txt=members(CLEAN)[SHEETS].replace("FLY", "LX").encode()))
    assert verdict.holds
    assert "keysheets.txt is not what this showvc draws" in verdict.doubts[0].message


@pytest.mark.parametrize(
    "facts",
    [b"", b"{}\n", b"[" * 100_000, b'{"format": 2}\n', b"null\n", b'{"format":1e999}\n'],
)
def test_facts_that_showvc_does_not_write_are_refused(facts: bytes) -> None:
    assert "release.json" in verify(resealed(release_json=facts)).problems[0].message


@pytest.mark.parametrize("name", ["snapshot", "over", "warnings", "changes", "critical", "effect_words", "previous"])
@pytest.mark.parametrize("value", [[1], {"findings": 3, "reason": None}, 7, [{"path": 1}]])
def test_facts_of_a_wrong_shape_are_refused_and_never_a_traceback(name: str, value: Any) -> None:
    facts = json.loads(members(CLEAN)[FACTS]) | {name: value}
    assert not verify(resealed(release_json=canonical_json(facts) + b"\n")).holds


# Hostile files

ZEROS = b"\0" * 5_000_000


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"PK",
        b"not a zip file at all",
        zipped(("show.json", ZEROS), method=zipfile.ZIP_DEFLATED),
        zipped(*((name, ZEROS) for name in MEMBERS), method=zipfile.ZIP_DEFLATED),
        zipped(("../../show.json", b"{}")),
        zipped(("/etc/show.json", b"{}")),
        zipped(*((name, b"{}") for name in MEMBERS), ("more.txt", b"")),
        zipped(*((f"{number}.txt", b"") for number in range(5_000))),
    ],
    ids=["empty", "short", "text", "bomb", "bombs", "upwards", "absolute", "one more", "thousands"],
)
def test_a_hostile_file_is_refused_before_anything_is_unpacked(data: bytes) -> None:
    verdict = verify(data, "from-the-stick.zip")
    assert not verdict.holds
    assert verdict.show is None
    assert verdict.problems[0].file == "from-the-stick.zip"


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_stands_twice_is_refused() -> None:
    inside = [(name, text.encode()) for name, text in members(CLEAN).items()]
    assert not verify(zipped(*inside, ("show.json", b"{}"))).holds
    assert not verify(zipped(inside[0], ("show.json", b"{}"), *inside[1:])).holds


def test_a_size_that_lies_is_refused() -> None:
    tampered = bytearray(CLEAN)
    tampered[22:26] = b"\xff\xff\xff\xff"
    assert not verify(bytes(tampered)).holds


def test_the_same_members_packed_again_by_another_program_are_refused() -> None:
    inside = [(name, text.encode()) for name, text in members(CLEAN).items()]
    assert "packed again" in verify(zipped(*inside)).problems[0].message


@given(st.binary(max_size=200))
def test_any_bytes_are_judged_and_never_a_traceback(data: bytes) -> None:
    assert not verify(data).holds
