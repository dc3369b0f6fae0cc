"""The hub: making, naming, joining; what goes along with a sync; and a hub that was put back."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from http.server import CGIHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from showvc.document import MachineError, ShowError
from showvc.history import hub_exchange, hub_sync
from showvc.history.drafts import close_draft, go_to_draft, mark, open_draft, unmark
from showvc.history.hub import forget_hub, hub_state, name_hub
from showvc.history.hub_join import join_hub
from showvc.history.hub_sync import Options, sync
from showvc.history.hub_tables import JOINS
from showvc.history.hub_verify import Check, verify
from showvc.history.joining import pending_merge, settle_open, side_of
from showvc.history.operations import log, undo
from showvc.history.remembered import SETTLED, keep_known, known_in
from showvc.history.shows import Shows
from showvc.merging import Side
from tests.history.hubs import Engineer, everything_reachable, first, git, joined, pair


def _marks(engineer: Engineer) -> dict[str, str]:
    refs = engineer.archive.refs()
    return {name.removeprefix("refs/tags/"): oid for name, oid in refs.items() if name.startswith("refs/tags/")}


def _settle(engineer: Engineer, side: Side) -> None:
    archive = engineer.archive
    settle_open(
        archive, lambda out: [side_of(archive, each, side) for each in out.merge.conflicts], Shows(archive), yes=True
    )


def _open(engineer: Engineer) -> int:
    found = pending_merge(engineer.archive, Shows(engineer.archive))
    return len(found.merge.conflicts) if found else 0


# --- making, naming, joining ---


@pytest.mark.parametrize("exists", [True, False])
def test_a_hub_is_made_in_an_empty_or_missing_folder(tmp_path: Path, exists: bool) -> None:
    ann = first(tmp_path / "ann")
    hub = tmp_path / "stick" / "salt road ü"
    (hub if exists else hub.parent).mkdir(parents=True)
    assert name_hub(ann.archive, str(hub)).made
    assert not name_hub(ann.archive, str(hub)).made, "naming it again makes nothing"
    assert ann.sync().sent == 1
    ben = joined(hub, tmp_path / "ben", "Ben Spot")
    assert ben.show == ann.show
    assert ben.last == ann.last


def test_a_stick_that_is_not_there_is_not_made_up(tmp_path: Path) -> None:
    """A hub made in the empty mount point would be on nobody's stick."""
    ann = first(tmp_path / "ann")
    with pytest.raises(MachineError, match="not in reach"):
        name_hub(ann.archive, str(tmp_path / "media" / "stick" / "hub"))
    assert not (tmp_path / "media").exists()


def test_a_hub_in_a_groups_folder_can_be_written_by_the_group(tmp_path: Path) -> None:
    ann = first(tmp_path / "ann")
    hub = tmp_path / "hub"
    hub.mkdir()
    hub.chmod(0o2775)
    name_hub(ann.archive, str(hub))
    ann.sync()
    made = [path for path in hub.rglob("*") if path.is_dir() or path.name in ("config", "HEAD")]
    assert all(path.stat().st_mode & 0o020 for path in made)


def test_joining_brings_drafts_marks_and_settlements(tmp_path: Path) -> None:
    ann, ben, hub = pair(tmp_path)
    mark(ann.archive, "town-one", ann.last)
    open_draft(ann.archive, "next-venue", ann.last)
    ann.label("fly", "A")
    ann.sync()
    go_to_draft(ben.archive, "main")
    ben.sync()
    go_to_draft(ben.archive, "next-venue")
    ben.label("lx", "B")
    ben.sync()
    found = join_hub(str(hub), tmp_path / "cleo", "Cleo Deck", draft="next-venue")
    cleo = Engineer(tmp_path / "cleo")
    assert sorted(found.drafts) == ["main", "next-venue"]
    assert (cleo.archive.draft, cleo.last) == ("next-venue", ben.last)
    assert _marks(cleo) == _marks(ann)
    assert git(cleo.folder, "status", "--porcelain") == "", "any git client sees a clean folder"


@pytest.mark.parametrize("full", ["a file", "a folder with something in it", "an empty hub", "no hub", "no such draft"])
def test_what_cannot_be_joined_leaves_nothing_behind(tmp_path: Path, full: str) -> None:
    _, _, hub = pair(tmp_path)
    target = tmp_path / "cleo"
    draft = None
    if full == "a file":
        target.write_text("dear")
    elif full == "a folder with something in it":
        target.mkdir()
        (target / "letter.txt").write_text("dear")
    elif full == "an empty hub":
        hub = tmp_path / "empty"
        git(tmp_path, "init", "--quiet", "--bare", "--template=", "empty")
    elif full == "no hub":
        hub = tmp_path / "ann"
    else:
        draft = "nowhere"
    before = sorted(path.name for path in tmp_path.iterdir())
    with pytest.raises(ShowError):
        join_hub(str(hub), target, "Cleo Deck", draft=draft)
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_a_hub_made_anew_at_the_same_place_takes_the_whole_show(tmp_path: Path) -> None:
    """A stick that was wiped and made a hub again is not taken for one that was put back."""
    ann, _, hub = pair(tmp_path)
    shutil.rmtree(hub)
    assert name_hub(ann.archive, str(hub)).made
    assert not ann.sync().needs_person
    assert git(hub, "rev-parse", "refs/heads/main") == ann.last


def test_forgetting_the_hub_keeps_the_show(tmp_path: Path) -> None:
    ann, _, _ = pair(tmp_path)
    last = ann.last
    forget_hub(ann.archive)
    assert hub_state(ann.archive) is None
    assert ann.last == last
    with pytest.raises(ShowError, match="no hub is named yet"):
        ann.sync()


def test_the_state_is_told_as_last_known_without_asking_the_hub(tmp_path: Path) -> None:
    ann, ben, hub = pair(tmp_path)
    ann.label("fly", "A")
    ann.label("fly", "B")
    ann.sync()
    ben.label("lx", "C")
    shutil.move(hub, tmp_path / "away")
    state = hub_state(ben.archive)
    assert state is not None
    assert (state.url, state.ahead, state.behind) == (str(hub), 1, 0)
    assert "1 of yours not there yet, as of " in state.words
    shutil.move(tmp_path / "away", hub)
    ben.label("fly", "D")
    assert ben.sync().needs_person
    state = hub_state(ben.archive)
    assert state is not None and (state.ahead, state.behind) == (2, 2)
    assert set(state.plain()) == {"hub", "ahead", "behind", "when", "words", "others", "wrong"}


# --- syncing ---


def test_unrecorded_edits_stay_unrecorded_unless_the_merge_needs_them(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    (ann.folder / "groups" / "fly.yaml").write_text("label: MINE\n")
    last = ann.last
    assert ann.sync().sent == 0
    assert ann.last == last, "nothing came in: they stay as they are"
    ben.label("lx", "L")
    ben.sync()
    done = ann.sync()
    assert [notice.kind for notice in done.notices] == ["recorded"]
    assert {"MINE", "L"} <= {group.label for group in ann.show.groups.values()}


def test_a_conflict_waits_like_any_other_and_the_rest_goes_on(tmp_path: Path) -> None:
    ann, ben, hub = pair(tmp_path)
    ann.label("fly", "A")
    ann.sync()
    ben.label("fly", "B")
    mark(ben.archive, "town-one", ben.last)
    done = ben.sync()
    assert done.needs_person and _open(ben) == 1
    assert done.outcome is not None
    assert [conflict["mine"] for conflict in done.outcome.plain()["conflicts"]] == ["B"]
    assert git(hub, "rev-parse", "refs/tags/town-one") == ben.last, "the mark went along"
    again = ben.sync()
    assert [notice.kind for notice in again.notices] == ["open"] and again.needs_person
    _settle(ben, "incoming")
    assert ben.sync().sent > 0
    ann.sync()
    assert ann.last == ben.last
    assert ann.show.groups["fly"].label == "A"


def test_other_drafts_follow_the_hub_and_those_edited_on_both_sides_are_told(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    open_draft(ann.archive, "venue", ann.last)
    ann.label("fly", "A")
    ann.sync()
    assert [notice.kind for notice in ben.sync().notices] == ["new-draft"]
    ann.label("fly", "A2")
    ann.sync()
    assert [notice.kind for notice in ben.sync().notices] == ["draft"]
    assert ben.archive.refs()["refs/heads/venue"] == ann.last
    ann.label("fly", "A3")
    ann.sync()
    go_to_draft(ben.archive, "venue")
    ben.label("lx", "B")
    go_to_draft(ben.archive, "main")
    done = ben.sync()
    assert done.needs_person
    assert "showvc draft go venue, then showvc sync" in done.notices[0].words
    go_to_draft(ben.archive, "venue")
    assert not ben.sync().needs_person


def test_a_draft_closed_here_stays_closed_until_somebody_works_on_it(tmp_path: Path) -> None:
    ann, ben, hub = pair(tmp_path)
    open_draft(ann.archive, "venue", ann.last)
    ann.sync()
    ben.sync()
    close_draft(ben.archive, "venue")
    ben.sync()
    assert "refs/heads/venue" not in ben.archive.refs()
    assert git(hub, "rev-parse", "refs/heads/venue") == ann.last, "nobody's draft is taken away at the hub"
    ann.label("fly", "A")
    ann.sync()
    ben.sync()
    assert ben.archive.refs()["refs/heads/venue"] == ann.last


def test_shows_that_have_nothing_in_common_are_not_thrown_together(tmp_path: Path) -> None:
    _, _, hub = pair(tmp_path)
    other = first(tmp_path / "other", "Dora Cue")
    other.label("fly", "X")
    name_hub(other.archive, str(hub))
    last = other.last
    with pytest.raises(ShowError, match="has no snapshot in common"):
        other.sync()
    assert other.last == last


def test_undoing_a_sync_steps_back_here_and_the_next_sync_takes_it_again(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    ann.label("fly", "A")
    mark(ann.archive, "town-one", ann.last)
    open_draft(ann.archive, "venue", ann.last)
    ann.sync()
    go_to_draft(ann.archive, "main")
    before, seen = ben.last, ben.show
    ben.sync()
    assert log(ben.archive)[0].command == "sync"
    undo(ben.archive)
    assert (ben.last, ben.show, _marks(ben)) == (before, seen, {})
    state = hub_state(ben.archive)
    assert state is not None and (state.ahead, state.behind) == (0, 1)
    ben.sync()
    assert ben.last == ann.last
    assert _marks(ben) == _marks(ann), "an undone sync takes no mark away from the others"
    assert "refs/heads/venue" in ben.archive.refs()
    ann.sync()
    assert "town-one" in _marks(ann)


# --- marks ---


def test_marks_that_were_moved_or_taken_away_go_along(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    mark(ann.archive, "town-one", ann.last)
    ann.sync()
    ben.sync()
    ben.label("fly", "B")
    mark(ben.archive, "town-one", ben.last, move=True)
    ben.sync()
    said = [notice.words for notice in ann.sync().notices]
    assert any("Mark town-one from the hub" in words for words in said)
    assert _marks(ann) == {"town-one": ben.last}
    unmark(ann.archive, "town-one")
    ann.sync()
    assert any("taken away" in notice.words for notice in ben.sync().notices)
    assert _marks(ben) == {}


def test_a_mark_set_differently_on_both_sides_stays_in_sight_twice(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    ann.label("fly", "A")
    mark(ann.archive, "opening-night", ann.last)
    ann.sync()
    at_the_hub = ann.last
    ben.label("lx", "B")
    mark(ben.archive, "opening-night", ben.last)
    mine = ben.last
    done = ben.sync()
    assert any("yours is called opening-night-2 now" in notice.words for notice in done.notices)
    assert done.needs_person
    ann.sync()
    assert _marks(ann) == _marks(ben) == {"opening-night": at_the_hub, "opening-night-2": mine}
    assert not ben.sync().notices


def test_a_mark_moved_here_and_taken_away_there_stands(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    mark(ann.archive, "town-one", ann.last)
    ann.sync()
    ben.sync()
    unmark(ann.archive, "town-one")
    ann.sync()
    ben.label("fly", "B")
    mark(ben.archive, "town-one", ben.last, move=True)
    done = ben.sync()
    assert any("it stands" in notice.words for notice in done.notices)
    ann.sync()
    assert _marks(ann) == _marks(ben) == {"town-one": ben.last}


def test_more_names_than_a_command_line_holds_go_in_parts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hub_exchange, "MOST_AT_ONCE", 5)
    ann, ben, hub = pair(tmp_path)
    ann.archive.change_refs({f"refs/tags/stop-{number:02}": ann.last for number in range(12)})
    ann.label("fly", "FLIES")
    done = ann.sync()
    assert len(done.names_sent) == 13
    assert len(git(hub, "for-each-ref", "refs/tags").splitlines()) == 12
    ben.sync()
    assert (_marks(ben), ben.last) == (_marks(ann), ann.last)


def test_what_a_part_sent_before_the_hub_went_away_stays_and_the_rest_goes_with_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hub_exchange, "MOST_AT_ONCE", 5)
    ann, _, hub = pair(tmp_path)
    ann.archive.change_refs({f"refs/tags/stop-{number:02}": ann.last for number in range(12)})
    ann.label("fly", "FLIES")
    part, sent = hub_exchange._send, []

    def failing(*arguments: object) -> None:
        sent.append(arguments)
        if len(sent) == 2:
            raise MachineError("the stick was pulled", "put it in again")
        part(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(hub_exchange, "_send", failing)
    with pytest.raises(MachineError):
        ann.sync()
    assert git(hub, "rev-parse", "refs/heads/main") == ann.last, "drafts go first"
    assert len(git(hub, "for-each-ref", "refs/tags").splitlines()) == 4
    assert len(ann.sync().names_sent) == 8
    assert len(git(hub, "for-each-ref", "refs/tags").splitlines()) == 12


# --- releases, and tables ---


def test_releases_and_their_table_go_along_and_come_to_rest(tmp_path: Path) -> None:
    ann, ben, hub = pair(tmp_path)
    calls: list[str] = []
    table = "refs/showvc/releases"

    def join(archive: object, theirs: str) -> None:
        calls.append(theirs)

    for engineer in (ann, ben):
        archive = engineer.archive
        blob = archive.store("blob", json.dumps({"who": engineer.folder.name}).encode())
        commit = archive.write_commit(archive.write_tree({"2345-67FH": blob}), [], _person(), _when(), "releases\n")
        archive.change_refs({table: commit})
        archive.change_refs({"refs/releases/2345-67FH": engineer.last})
    options = {"joins": {**JOINS, table: join}}
    assert "release 2345-67FH" in ann.sync(**options).names_sent
    ben.sync(**options)
    assert calls == [ann.archive.ref(table)]
    assert git(hub, "rev-parse", "refs/releases/2345-67FH") == ann.last
    assert ben.archive.refs()["refs/releases/2345-67FH"] == ann.last


def _person():  # type: ignore[no-untyped-def]
    from showvc.history.people import person

    return person("Ann Rigg")


def _when():  # type: ignore[no-untyped-def]
    from datetime import datetime

    return datetime.now().astimezone()


def test_a_settlement_made_at_one_place_is_offered_at_the_other_with_who_and_when(tmp_path: Path) -> None:
    """The same conflict (place and three values) comes up again for somebody who did not settle it."""
    ann, ben, hub = pair(tmp_path)
    cleo = joined(hub, tmp_path / "cleo", "Cleo Deck")
    base = ann.last
    ann.label("fly", "A")
    ann.sync()
    ben.label("fly", "B")
    ben.sync()
    _settle(ben, "mine")
    ben.sync()

    # Cleo has the same two edits on drafts of her own.
    open_draft(cleo.archive, "hers", base)
    cleo.label("fly", "A")
    open_draft(cleo.archive, "other", base)
    cleo.label("fly", "B")
    cleo.sync()
    from showvc.history.joining import merge_source
    from showvc.history.sources import find

    archive, shows = cleo.archive, Shows(cleo.archive)
    outcome = merge_source(archive, find(archive, "hers", shows), shows)
    (offer,) = outcome.offers.values()
    assert (offer.who, offer.values) == ("Ben Spot", {"/groups/fly/label": "B"})
    assert offer.when
    assert not outcome.merge.clean, "it is offered, and taken only when asked for"
    undo(archive)
    assert merge_source(archive, find(archive, "hers", shows), shows, take_remembered=True).merge.clean


def _decided(engineer: Engineer, key: str, day: str) -> str:
    """A decision as it is kept, made on this day; its blob."""
    who, when = engineer.folder.name, f"2026-11-{day}T10:00:00+00:00"
    plain = {"key": key, "values": {}, "how": "mine", "who": who, "when": when}
    return engineer.archive.store("blob", json.dumps(plain).encode())


def test_decisions_made_apart_are_known_everywhere_and_of_two_about_one_conflict_the_later_stands(
    tmp_path: Path,
) -> None:
    ann, ben, _ = pair(tmp_path)
    same, anns, bens = ("ab" + "0" * 62, "aa" + "0" * 62, "bb" + "0" * 62)
    keep_known(ann.archive, {same: _decided(ann, same, "01"), anns: _decided(ann, anns, "01")})
    keep_known(ben.archive, {same: _decided(ben, same, "02"), bens: _decided(ben, bens, "01")})
    for engineer in (ann, ben, ann, ben):
        engineer.sync()
    tables = [known_in(engineer.archive, engineer.archive.ref(SETTLED) or "") for engineer in (ann, ben)]
    assert tables[0] == tables[1]
    who = {key: json.loads(ann.archive.blob(oid))["who"] for key, oid in tables[0].items()}
    assert who == {same: "ben", anns: "ann", bens: "ben"}
    assert ann.archive.ref(SETTLED) == ben.archive.ref(SETTLED), "nobody answers the other for ever"


# --- a hub that was put back ---


def _put_back(hub: Path, how: str) -> None:
    if how == "older":
        git(hub, "update-ref", "refs/heads/main", "refs/heads/main~1")
    elif how == "rewritten":
        made = git(hub, "commit-tree", "refs/heads/main^{tree}", "-p", "refs/heads/main~1", data=b"rewritten\n")
        git(hub, "update-ref", "refs/heads/main", made)
    elif how == "gone":
        git(hub, "update-ref", "-d", "refs/heads/main")
    else:
        shutil.rmtree(hub)
        git(hub.parent, "init", "--quiet", "--bare", "--template=", "--initial-branch=main", "hub")


@pytest.mark.parametrize("how", ["older", "rewritten", "gone", "empty"])
def test_a_hub_that_was_put_back_or_rewritten_is_noticed_and_nothing_is_lost(tmp_path: Path, how: str) -> None:
    ann, ben, hub = pair(tmp_path)
    for label in ("A", "A2"):
        ann.label("fly", label)
    mark(ann.archive, "town-one", ann.last)
    ann.sync()
    ben.sync()
    _put_back(hub, how)
    at_the_hub = git(hub, "for-each-ref")
    mine = ben.label("lx", "B")
    show, marks, reachable = ben.show, _marks(ben), everything_reachable(ben)
    for _ in range(2):
        done = ben.sync()
        assert done.needs_person
        assert "was put back or rewritten" in done.notices[0].words
        assert "showvc sync --anyway" in done.notices[-1].words
        assert (ben.last, ben.show, _marks(ben)) == (mine, show, marks)
        assert reachable <= everything_reachable(ben)
        assert git(hub, "for-each-ref") == at_the_hub
    assert any("was put back" in wrong for check in verify(ben.archive) for wrong in check.wrong)
    assert not ben.sync(anyway=True).needs_person
    ann.sync(anyway=True)
    for engineer in (ann, ben):
        engineer.sync()
    assert ann.last == ben.last == git(hub, "rev-parse", "refs/heads/main")
    assert _marks(ann) == _marks(ben) == marks
    assert {"A2", "B"} <= {group.label for group in ann.show.groups.values()}
    assert mine in everything_reachable(ann)


# --- faster and slower ---


def test_somebody_who_is_faster_each_time_is_waited_for_so_often_and_no_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ann, ben, _ = pair(tmp_path)
    ann.label("fly", "A")
    real, left = hub_sync.send, [3]

    def beaten(*given: object) -> None:
        left[0] -= 1
        if left[0] >= 0:
            ben.label("lx", f"B{left[0]}")
            with monkeypatch.context() as inner:
                inner.setattr(hub_sync, "send", real)
                inner.setattr(hub_sync, "in_turn", NoTurn)
                ben.sync()
        real(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(hub_sync, "send", beaten)
    monkeypatch.setattr(hub_sync, "_LONGEST_WAIT", 0.06)
    done = ann.sync()
    assert done.tries == 4
    assert done.taken == 3
    left[0] = 10**6
    ann.label("fly", "A2")
    monkeypatch.setattr(hub_sync, "MOST_TRIES", 2)
    with pytest.raises(MachineError, match="was busy: others were faster 2 times"):
        ann.sync()
    assert ann.show.groups["fly"].label == "A2"


class NoTurn:
    def __init__(self, folder: object) -> None: ...
    def __enter__(self) -> None: ...
    def __exit__(self, *_: object) -> None: ...


def test_a_hub_that_cannot_be_written_is_told_and_tried_again_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ann, _, _ = pair(tmp_path)
    ann.label("fly", "A")
    monkeypatch.setattr(hub_exchange, "run_watched", _unwritable(hub_exchange.run_watched))
    with pytest.raises(MachineError, match="not in reach: it cannot be written"):
        ann.sync()
    monkeypatch.undo()
    assert ann.sync().sent == 1


def _unwritable(real):  # type: ignore[no-untyped-def]
    def run(apart, arguments):  # type: ignore[no-untyped-def]
        if arguments[0] == "push":
            return 1, "remote: error: insufficient permission for adding an object to repository database objects"
        return real(apart, arguments)

    return run


# --- over the network ---


class _Handler(CGIHTTPRequestHandler):
    """git's own server side over http, on loopback, behind a certificate of our own."""

    have_fork = False

    def log_message(self, *_: object) -> None: ...

    def do_GET(self) -> None:
        self._serve(b"")

    def do_POST(self) -> None:
        self._serve(self._body())

    def _body(self) -> bytes:
        if self.headers.get("Transfer-Encoding") == "chunked":
            parts = []
            while size := int(self.rfile.readline().strip(), 16):
                parts.append(self.rfile.read(size))
                self.rfile.readline()
            self.rfile.readline()
            return b"".join(parts)
        return self.rfile.read(int(self.headers.get("Content-Length", 0)))

    def _serve(self, body: bytes) -> None:
        path, _, query = self.path.partition("?")
        environment = {
            "PATH": "/usr/bin:/bin", "GIT_PROJECT_ROOT": str(self.server.root), "GIT_HTTP_EXPORT_ALL": "1",  # type: ignore[attr-defined]
            "PATH_INFO": path, "QUERY_STRING": query, "REQUEST_METHOD": self.command, "REMOTE_USER": "x",
            "CONTENT_TYPE": self.headers.get("Content-Type", ""), "CONTENT_LENGTH": str(len(body)),
            "HTTP_CONTENT_ENCODING": self.headers.get("Content-Encoding", ""),
            "GIT_PROTOCOL": self.headers.get("Git-Protocol", ""), "REMOTE_ADDR": "127.0.0.1",
        }  # fmt: skip
        done = subprocess.run(["git", "http-backend"], input=body, env=environment, capture_output=True, check=False)
        head, _, content = done.stdout.partition(b"\r\n\r\n")
        fields = dict(line.split(": ", 1) for line in head.decode().split("\r\n") if ": " in line)
        self.send_response(int(fields.pop("Status", "200").split()[0]))
        for name, value in {**fields, "Content-Length": str(len(content))}.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(content)


@pytest.fixture
def https(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[str, Path]]:
    import ssl

    key, certificate = tmp_path / "key.pem", tmp_path / "certificate.pem"
    made = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-keyout", str(key),
            "-out", str(certificate), "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost"]  # fmt: skip
    subprocess.run(made, check=True, capture_output=True)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Handler)
    server.root = tmp_path  # type: ignore[attr-defined]
    server.socket = context.wrap_socket(server.socket, server_side=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    for name in ("http_proxy", "https_proxy", "HTTPS_PROXY", "ALL_PROXY"):
        monkeypatch.delenv(name, raising=False)
    yield f"https://localhost:{server.server_port}/hub", certificate
    server.shutdown()
    server.server_close()


@pytest.mark.skipif(shutil.which("openssl") is None, reason="needs openssl for a certificate")
def test_a_hub_over_https_exchanges_and_must_prove_who_it_is(
    tmp_path: Path, https: tuple[str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    url, certificate = https
    ann, _, hub = pair(tmp_path)
    git(hub, "config", "http.receivepack", "true")
    name_hub(ann.archive, url)
    monkeypatch.delenv("GIT_SSL_CAINFO", raising=False)
    ann.label("fly", "A")
    with pytest.raises(MachineError, match="cannot prove who it is"):
        ann.sync()
    monkeypatch.setenv("GIT_SSL_CAINFO", str(certificate))
    assert ann.sync().sent == 1
    cleo = joined(url, tmp_path / "cleo", "Cleo Deck")
    cleo.label("lx", "C")
    cleo.sync()
    ann.sync()
    assert ann.last == cleo.last == git(hub, "rev-parse", "refs/heads/main")


def test_a_hub_over_ssh_exchanges(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`ssh` is played by a script that runs here what would be run there; no option of ours reaches the server."""
    ann, _, hub = pair(tmp_path)
    ssh = tmp_path / "ssh"
    ssh.write_text(
        f'#!/bin/sh\necho "$@" >> {tmp_path}/called\nwhile [ "$1" != comms@hub.example ]; do shift; done\nshift\nexec sh -c "$*"\n'
    )
    ssh.chmod(0o755)
    monkeypatch.setenv("GIT_SSH_COMMAND", str(ssh))
    name_hub(ann.archive, f"comms@hub.example:{hub}")
    ann.label("fly", "A")
    assert ann.sync().sent == 1
    cleo = joined(f"ssh://comms@hub.example{hub}", tmp_path / "cleo", "Cleo Deck")
    assert cleo.last == ann.last
    served = [line.split("comms@hub.example ")[1] for line in (tmp_path / "called").read_text().splitlines()]
    assert {line.split()[0] for line in served} == {"git-upload-pack", "git-receive-pack"}


@pytest.mark.parametrize(
    "said", ["Could not resolve host: hub.example", "ssh: connect to host x port 22: Connection timed out"]
)
def test_a_hub_out_of_reach_is_told_calmly(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: str) -> None:
    ann, _, _ = pair(tmp_path)
    monkeypatch.setattr(
        hub_exchange, "run_watched", lambda *_: (128, f"fatal: {said}\nfatal: Could not read from remote repository.")
    )
    with pytest.raises(MachineError) as found:
        ann.sync()
    words = str(found.value)
    assert "all else works without it" in words
    for word in ("git", "fetch", "push", "remote", "repository", "fatal"):
        assert word not in words.replace(str(tmp_path), "")


# --- verify ---


def _check(engineer: Engineer, name: str) -> Check:
    return next(check for check in verify(engineer.archive) if check.name == name)


def test_a_whole_show_verifies(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    ann.label("fly", "A")
    ann.sync()
    ben.sync()
    for engineer in (ann, ben):
        checks = verify(engineer.archive)
        assert [check.name for check in checks] == ["history", "snapshots", "operations", "settlements", "hub"]
        assert not any(check.wrong or check.away for check in checks), checks


@pytest.mark.parametrize("what", ["a missing file", "a spoiled file", "a spoiled snapshot"])
def test_a_damaged_history_is_found_and_all_else_is_still_looked_at(tmp_path: Path, what: str) -> None:
    ann, _, _ = pair(tmp_path)
    ann.label("fly", "A")
    oid = ann.last if what == "a spoiled snapshot" else git(ann.folder, "rev-parse", "HEAD:groups/fly.yaml")
    path = ann.folder / ".git" / "objects" / oid[:2] / oid[2:]
    path.chmod(0o644)
    path.unlink() if what == "a missing file" else path.write_bytes(path.read_bytes()[:-9] + b"123456789")
    checks = verify(ann.archive)
    assert len(checks) == 5
    found = {check.name: check.wrong for check in checks}
    assert any(oid[:7] in wrong for wrong in found["history"]), found


def test_a_snapshot_that_cannot_be_read_is_found(tmp_path: Path) -> None:
    ann, _, _ = pair(tmp_path)
    archive = ann.archive
    files = {**archive.files(ann.last), "groups/odd.yaml": archive.store("blob", b"colour: red\n")}
    commit = archive.write_commit(archive.write_tree(files), [ann.last], _person(), _when(), "odd\n")
    archive.change_refs({"refs/heads/odd": commit})
    assert any("odd.yaml" in wrong for wrong in _check(ann, "snapshots").wrong)


def test_a_spoiled_list_of_operations_is_found(tmp_path: Path) -> None:
    ann, _, _ = pair(tmp_path)
    archive = ann.archive
    (archive.git_dir / "refs/showvc/operations").write_text(archive.last or "")
    assert _check(ann, "operations").wrong


def test_damage_at_the_hub_is_found_from_here(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    oid = git(hub, "rev-parse", "refs/heads/main:show.yaml")
    found = hub / "objects" / oid[:2] / oid[2:]
    if not found.exists():
        pytest.skip("the hub keeps it in a pack")
    found.unlink()
    check = _check(ann, "hub")
    assert check.wrong


def test_a_hub_out_of_reach_is_no_damage(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    shutil.rmtree(hub)
    check = _check(ann, "hub")
    assert check.away and "not in reach" in check.wrong[0]


def test_two_syncs_of_one_folder_wait_for_each_other(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    ann.label("fly", "A")
    failed: list[BaseException] = []

    def run() -> None:
        try:
            archive = ann.archive
            sync(archive, Shows(archive), Options())
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=run) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failed, failed
    assert git(hub, "rev-parse", "refs/heads/main") == ann.last
    assert sys.version_info >= (3, 11)
