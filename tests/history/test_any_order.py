"""Commands in any order: whatever was recorded stays reachable, and undo gives back how things stood."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from showvc.document import ShowError
from showvc.formats import read
from showvc.history.operations import current_view
from tests.history.desk import FILES, Desk

GROUPS = st.sampled_from(["fly", "lx", "snd", "rig", "cue"])
USERS = st.sampled_from(["sm", "asm", "board"])
NAMES = st.sampled_from(["main", "deck", "house", "rigging"])
SIDES = st.sampled_from(["mine", "incoming"])
WORDS = st.sampled_from(["One", "Two", "Three", "Four"])
BACK = st.integers(0, 3)


class Engineers(RuleBasedStateMachine):
    """One folder, and every command that may be given in it."""

    def __init__(self) -> None:
        super().__init__()
        self.home = Path(tempfile.mkdtemp(prefix="showvc-order-"))
        self.desk = Desk.begun(self.home / "show")
        self.known: set[str] = set()

    def teardown(self) -> None:
        assert self.desk.fsck() == []
        shutil.rmtree(self.home, ignore_errors=True)

    def view(self) -> dict[str, Any]:
        return {**current_view(self.desk.archive).plain(), "files": self.desk.files()}

    def does(self, *command: str) -> None:
        """Gives a command; it happens whole or not at all, and undo takes it back and gives it again."""
        before = self.view()
        answer = self.desk(*command, code=None)
        assert answer.code in (0, 1, 2), (command, answer)
        after = self.view()
        if answer.code == 2:
            assert after == before, (command, answer)
        if after != before:
            self.desk("undo")
            assert self.view() == before, command
            self.desk("undo")
            assert self.view() == after, command

    # --- editing ---

    @rule(group=GROUPS, name=WORDS)
    def names_a_group(self, group: str, name: str) -> None:
        self.does("set", f"groups/{group}", f"{{name: {name}}}")

    @rule(group=GROUPS)
    def removes_a_group(self, group: str) -> None:
        self.does("remove", f"groups/{group}")

    @rule(user=USERS, group=GROUPS, number=st.integers(1, 4))
    def gives_a_channel(self, user: str, group: str, number: int) -> None:
        self.does("set", f"users/{user}/channels/{group}", f"{{number: {number}, talk: latch}}")

    @rule(user=USERS, word=WORDS)
    def writes_by_hand(self, user: str, word: str) -> None:
        self.desk.write(
            f"users/{user}.yaml", FILES[f"users/{user}.yaml"].replace("name: ", f"name: {word} ") + f"# {word}\n"
        )

    # --- recording and looking back ---

    @rule(note=WORDS)
    def records(self, note: str) -> None:
        self.does("record", "--note", note)

    @rule(back=BACK)
    def restores(self, back: int) -> None:
        self.does("restore", f"last-{back}")

    @rule(name=st.sampled_from(["opening-night", "tryout"]), back=BACK)
    def marks(self, name: str, back: int) -> None:
        self.does("mark", name, f"last-{back}", "--move")

    # --- drafts ---

    @rule(name=NAMES, back=BACK)
    def opens_a_draft(self, name: str, back: int) -> None:
        self.does("draft", "open", name, "--at", f"last-{back}")

    @rule(name=NAMES)
    def goes_to_a_draft(self, name: str) -> None:
        self.does("draft", "go", name)

    @rule(name=NAMES)
    def closes_a_draft(self, name: str) -> None:
        self.does("draft", "close", name)

    # --- putting together ---

    @rule(name=NAMES)
    def merges(self, name: str) -> None:
        self.does("merge", name)

    @rule(side=SIDES)
    def settles_one(self, side: str) -> None:
        self.does("settle", "1", "--take", side)

    @rule(side=SIDES)
    def settles_all(self, side: str) -> None:
        self.does("settle", "--all", "--take", side)

    @rule()
    def drops(self) -> None:
        self.does("settle", "--drop")

    @rule(back=BACK)
    def rolls_back(self, back: int) -> None:
        self.does("rollback", f"last-{back}")

    @rule(name=NAMES)
    def carries(self, name: str) -> None:
        self.does("carry", name)

    # --- stepping back ---

    @rule()
    def undoes(self) -> None:
        self.does("undo")

    @rule(number=st.integers(1, 30))
    def undoes_many(self, number: int) -> None:
        self.does("undo", "--to", str(number))

    @precondition(lambda self: self.known)
    @rule()
    def another_program_looks_after_the_folder(self) -> None:
        """Packs everything and throws away what no ref leads to."""
        self.desk.git("gc", "-q", "--prune=now")

    # --- what always holds ---

    @invariant()
    def nothing_recorded_is_lost(self) -> None:
        now = self.desk.reachable()
        assert self.known <= now
        self.known = now

    @invariant()
    def the_folder_can_be_read(self) -> None:
        try:
            read(self.desk.folder)
        except ShowError as error:
            raise AssertionError(str(error)) from error

    @invariant()
    def now_tells_how_it_stands(self) -> None:
        assert self.desk("now", code=None).code in (0, 1)


TestEngineers = Engineers.TestCase
TestEngineers.settings = settings(
    max_examples=max(3, int(os.environ.get("SHOWVC_EXAMPLES", "60")) // 15), stateful_step_count=12, deadline=None
)
