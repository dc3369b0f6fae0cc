"""Taking one snapshot's edit back, and taking one over."""

from __future__ import annotations

from showvc.document import ShowError
from showvc.document.editing import get, put
from showvc.document.lining import counted, printable
from showvc.document.pointers import join, parse
from showvc.history.archive import Archive
from showvc.history.files import files_with
from showvc.history.joining import begin, mine_recorded, refuse_second
from showvc.history.operations import Step, operation
from showvc.history.pending import Outcome, Pending
from showvc.history.shows import Shows
from showvc.history.snapshots import commit_tree, listed, message_of


def roll_back(
    archive: Archive, commit: str, shows: Shows, only: str | None = None, side: str | None = None, yes: bool = False
) -> Outcome:
    """Takes one snapshot's edit back, whole or at one place, and keeps the good ones after it.

    Of a merge it is one side's edits that go: `side` says whose. What only the two together lose is
    not recorded without a `yes`.
    """
    said = f"rollback {commit[:7]}" + (f" --only {only}" if only else "") + (f" --side {side}" if side else "")
    with operation(archive, said) as step:
        refuse_second(step)
        was = step.after
        incoming, words = _without(archive, commit, side)
        mine_recorded(step, f"Edits kept before rolling back {commit[:7]}", shows)
        if only is not None:
            incoming = _only(step, commit, incoming, only, shows)
        title = archive.commit(commit).message.split("\n", 1)[0]
        inner = ", ".join([*([f"only {only}"] if only else []), *([f"{side}'s side"] if side else [])])
        note = f"Rolled back {commit[:7]}: {title}" + (f" ({inner})" if inner else "")
        pending = Pending(
            "rollback",
            commit[:7],
            (commit,),
            incoming,
            note,
            joins=False,
            base_words=words,
            undoes=commit if only is None else "",
            side=side or "",
        )
        return begin(step, was, pending, shows, False, yes)


def _without(archive: Archive, commit: str, side: str | None) -> tuple[str, str]:
    """The snapshot without the edits that are taken back, and whose edits these are, in words."""
    parents, code = archive.commit(commit).parents, commit[:7]
    if not parents:
        raise ShowError(f"{code} is the first snapshot: there is nothing before it", "go back whole: showvc restore")
    if len(parents) == 1:
        if side is not None:
            raise ShowError(
                f"{code} is no merge, so it has no {side} side", f"leave --side out: showvc rollback {code}"
            )
        return parents[0], "its edit alone is taken back"
    whose = whose_sides(archive, commit)
    if side not in whose:
        raise ShowError(
            f"{code} is a merge: mine is {whose['mine']}, incoming is {whose['incoming']}",
            f"say whose edits are taken back: showvc rollback {code} --side mine, or --side incoming",
        )
    return parents[1 if side == "mine" else 0], f"taken back is {whose[side]}"


def whose_sides(archive: Archive, commit: str) -> dict[str, str]:
    """Of a merge: whose edits each side brought, in words. Nothing for a snapshot that is none."""
    parents = archive.commit(commit).parents
    if len(parents) != 2:
        return {}
    one, other = parents
    return {"mine": _whose(archive, one, other), "incoming": _whose(archive, other, one)}


def _whose(archive: Archive, tip: str, other: str) -> str:
    """Whose edits one side of a merge brought, and how many snapshots: `Kim and Bo, 3 snapshots (a1b2c3d)`."""
    names = [each.who for each in listed(archive, [tip, f"^{other}", "--"])]
    who = " and ".join(sorted({printable(name) for name in names})) or "nobody"
    return f"{who}, {counted(len(names), 'snapshot')} up to {tip[:7]}"


def _only(step: Step, commit: str, parent: str, only: str, shows: Shows) -> str:
    """The snapshot with one place put back to what it was before."""
    steps = parse(only)
    bad, good = shows.at(commit), shows.at(parent)
    value = get(good, steps)
    if value == get(bad, steps):
        raise ShowError(
            f"{commit[:7]} changed nothing at {join(*steps)}", f"see: showvc compare {parent[:7]} {commit[:7]}"
        )
    files = files_with(shows, step.archive.files(commit), bad, put(bad, {steps: value}))
    incoming = commit_tree(
        step, step.archive.write_tree(files), [commit], message_of(f"Without {only}", {"changed": 1})
    )
    step.keep.append(incoming)
    return incoming


def carry(archive: Archive, commit: str, shows: Shows, yes: bool = False) -> Outcome:
    """Takes one snapshot's edit over into this draft; `yes` as for `roll_back`."""
    with operation(archive, f"carry {commit[:7]}") as step:
        refuse_second(step)
        was = step.after
        mine_recorded(step, f"Edits kept before carrying {commit[:7]} over", shows)
        found = archive.commit(commit)
        if not found.parents:
            raise ShowError(f"{commit[:7]} is a first snapshot: it is a whole show, not one edit", "merge it instead")
        title = found.message.split("\n", 1)[0]
        note = f"Carried over {commit[:7]}: {title}"
        words = "its edit alone is taken over"
        pending = Pending("carry", commit[:7], (found.parents[0],), commit, note, joins=False, base_words=words)
        return begin(step, was, pending, shows, False, yes)
