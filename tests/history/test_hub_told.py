"""What a sync did not send or take is said at once, and is still known afterwards."""

from __future__ import annotations

from pathlib import Path

from showvc.history.drafts import go_to_draft, mark, open_draft
from showvc.history.hub import hub_state
from tests.history.hubs import git, pair


def test_edits_that_are_not_recorded_are_said_not_to_have_gone(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    (ann.folder / "groups" / "new-one.yaml").write_text("label: ONE\n")
    (ann.folder / "groups" / "new-two.yaml").write_text("label: TWO\n")
    (told,) = ann.sync().notices
    assert told.words == "2 edits are not recorded: not sent. Record them: showvc record --note TEXT, then sync again."
    assert not told.needs_person
    assert ben.sync().taken == 0
    (ann.folder / "groups" / "new-two.yaml").write_text("lable: TWO\n")
    (told,) = ann.sync().notices
    assert told.words.startswith("The folder holds edits that cannot be read: not sent.")
    (ann.folder / "groups" / "new-two.yaml").unlink()
    ann.label("fly", "FLY")
    assert ann.sync().notices == ()


def test_a_new_draft_counts_only_what_the_hub_did_not_have(tmp_path: Path) -> None:
    ann, _, _ = pair(tmp_path)
    ann.label("fly", "FLY")
    ann.sync()
    open_draft(ann.archive, "venue", ann.last)
    assert ann.sync().sent == 0, "a new name for what the hub has"
    ann.label("lx", "LX")
    go_to_draft(ann.archive, "main")
    done = ann.sync()
    assert (done.sent, done.names_sent) == (1, ("draft venue",)), "of every draft, not of this one alone"


def test_what_the_hub_lacks_of_other_drafts_and_names_is_known(tmp_path: Path) -> None:
    ann, _, _ = pair(tmp_path)
    ann.sync()
    open_draft(ann.archive, "venue", ann.last)
    ann.label("lx", "LX")
    go_to_draft(ann.archive, "main")
    mark(ann.archive, "opening", ann.last)
    state = hub_state(ann.archive)
    assert state is not None
    assert "both hold the same" not in state.words
    assert "not the same there: draft venue, mark opening" in state.words
    ann.sync()
    state = hub_state(ann.archive)
    assert state is not None
    assert "both hold the same" in state.words


def test_of_a_new_draft_only_what_the_hub_lacks_is_told(tmp_path: Path) -> None:
    ann, _, _ = pair(tmp_path)
    ann.label("fly", "FLY")
    ann.sync()
    open_draft(ann.archive, "venue", ann.last)
    ann.label("lx", "LX")
    state = hub_state(ann.archive)
    assert state is not None
    assert (state.ahead, state.behind, state.others) == (1, 0, ("draft venue",))


def test_what_of_the_hub_was_refused_is_known_afterwards_too(tmp_path: Path) -> None:
    ann, ben, hub = pair(tmp_path)
    ann.sync()
    _link(hub)
    (told,) = ann.sync().notices
    state = hub_state(ann.archive)
    assert state is not None
    assert "both hold the same" not in state.words
    assert state.wrong == (told.words,)
    git(hub, "update-ref", "refs/heads/main", ben.last)
    ann.sync()
    state = hub_state(ann.archive)
    assert state is not None
    assert state.wrong == ()
    assert "both hold the same" in state.words


def test_that_the_hub_was_put_back_is_known_until_somebody_decides(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    ann.label("fly", "FLY")
    ann.sync()
    git(hub, "update-ref", "refs/heads/main", "refs/heads/main~1")
    ann.sync()
    state = hub_state(ann.archive)
    assert state is not None
    assert "put back or rewritten" in state.wrong[0]
    ann.sync(anyway=True)
    state = hub_state(ann.archive)
    assert state is not None
    assert state.wrong == ()


def _link(hub: Path) -> None:
    """A link in the plot of the hub's draft."""
    blob = git(hub, "hash-object", "-w", "--stdin", data=b"/etc/passwd")
    index = {"GIT_INDEX_FILE": str(hub / "index-of-a-stranger")}
    git(hub, "read-tree", "refs/heads/main", **index)
    git(hub, "update-index", "--add", "--cacheinfo", f"120000,{blob},users/spy.yaml", **index)
    tree = git(hub, "write-tree", **index)
    (hub / "index-of-a-stranger").unlink()
    git(hub, "update-ref", "refs/heads/main", git(hub, "commit-tree", tree, "-p", "refs/heads/main", "-m", "link"))
