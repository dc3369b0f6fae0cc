"""What stepping back over commands puts back: what they changed, and only where it stands as they left it.

Another program may work in the same folder: drafts, marks and snapshots that it made since are none of the
command's, and stay.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from showvc.document import ShowError
from showvc.history.archive import DRAFTS, MARKS, RELEASES

if TYPE_CHECKING:
    from showvc.history.operations import Operation, View


@dataclass(slots=True)
class Back:
    """The way back over some commands: from where the newest left things to where the oldest found them.

    `moves` is for each draft, mark and release that they changed how the newest left it and what it was before.
    """

    newest: Operation
    oldest: Operation
    moves: dict[str, tuple[str | None, str | None]] = field(default_factory=dict)

    @staticmethod
    def over(done: Iterable[Operation]) -> Back:
        """The way back over these commands, the newest first. ShowError where another program came between."""
        commands = iter(done)
        newest = next(commands)
        back = Back(newest, newest)
        back._add(newest)
        for earlier in commands:
            _refuse_between(earlier, back.oldest)
            back._add(earlier)
            back.oldest = earlier
        return back

    def _add(self, each: Operation) -> None:
        old, new = each.before.refs, each.after.refs
        for name in {*old, *new}:
            if old.get(name) == new.get(name):
                continue
            left, found = self.moves.get(name, (new.get(name), new.get(name)))
            if found != new.get(name):
                raise _moved(name, found)
            self.moves[name] = (left, old.get(name))

    def refs(self, now: View) -> Mapping[str, str]:
        """All drafts, marks and releases after stepping back. ShowError where another program moved one since."""
        refs = dict(now.refs)
        for name, (left, before) in self.moves.items():
            if left == before:
                continue
            if refs.get(name) not in (left, before):
                raise _moved(name, refs.get(name))
            refs.pop(name, None)
            refs |= {name: before} if before else {}
        return refs

    def draft(self, now: View, refs: Mapping[str, str]) -> str:
        """The draft to stand on after it. ShowError where the files here are not those that the commands left."""
        if now.draft != self.newest.after.draft and self._touches_the_folder:
            raise ShowError(
                f"another program put the folder on the draft {now.draft!r}, and the command was given on "
                f"{self.newest.after.draft!r}: nothing is undone",
                "put it back there with that program, then undo",
            )
        draft = self.oldest.before.draft if self._touches_the_folder else now.draft
        # A show of which even the beginning is undone has no draft, and stands on its first.
        none_left = DRAFTS + draft in self.moves or not _drafts(now.refs)
        if DRAFTS + draft not in refs and (_drafts(refs) or not none_left):
            raise ShowError(
                f"the folder would stand on the draft {draft!r}, which is not there: nothing is undone",
                "see what there is with: showvc draft list",
            )
        return draft

    @property
    def _touches_the_folder(self) -> bool:
        """Whether more than marks and releases is put back."""
        before, after = self.oldest.before, self.newest.after
        others = (before.draft, before.work, before.pending) != (after.draft, after.work, after.pending)
        return others or bool(_drafts(self.moves))

    def files(self, now: Mapping[str, str], left: Mapping[str, str], before: Mapping[str, str]) -> Mapping[str, str]:
        """The files after stepping back: those that the commands changed as they were before, all others as now."""
        changed = {path for path in {*left, *before} if left.get(path) != before.get(path)}
        others = {path: oid for path, oid in now.items() if path not in changed}
        return {**others, **{path: before[path] for path in changed if path in before}}

    def overwritten(self, now: Mapping[str, str], left: Mapping[str, str], before: Mapping[str, str]) -> Iterator[str]:
        """The files that the commands changed and that somebody edited since."""
        for path in sorted({*left, *before}):
            if left.get(path) != before.get(path) and now.get(path) not in (left.get(path), before.get(path)):
                yield path


def _drafts(names: Iterable[str]) -> list[str]:
    return [name for name in names if name.startswith(DRAFTS)]


def _refuse_between(earlier: Operation, later: Operation) -> None:
    """Stepping over what another program recorded between two commands would take its edits out of the files."""
    left, found = earlier.after, later.before
    if (left.draft, left.last) != (found.draft, found.last):
        raise ShowError(
            f"another program went on with this show between operation {earlier.number} and {later.number}: "
            "nothing is undone",
            f"go back as far as that: showvc undo --to {later.number}; or further with: showvc restore CODE",
        )


_SEE = "see where it stands with: showvc history"


def _moved(name: str, now: str | None) -> ShowError:
    """That another program moved a draft, mark or release since, and how one gets further."""
    kinds = {
        DRAFTS: ("draft", "see what is on it with: showvc history; take one snapshot back with: showvc rollback CODE"),
        MARKS: ("mark", f"{_SEE}; put it elsewhere with: showvc mark NAME CODE --move"),
        RELEASES: ("release", "see what there is with: showvc release --list"),
    }
    kind, (word, way_out) = next((kind, words) for kind, words in kinds.items() if name.startswith(kind))
    what = f"moved to {now[:7]}" if now else "taken away"
    return ShowError(
        f"the {word} {name.removeprefix(kind)!r} was {what} by another program since: nothing is undone", way_out
    )
