"""Merging by history: of a draft, a snapshot or a file; and settling."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from showvc.changes import Comparison, edits
from showvc.document import MachineError, Show, ShowError
from showvc.document.editing import ABSENT, get
from showvc.document.pointers import join, parse
from showvc.history import operations
from showvc.history.archive import DRAFTS, Archive
from showvc.history.bases import base_of, renamed_since, taken_back
from showvc.history.engineers import Engineers, engineers
from showvc.history.files import files_with, merged_files
from showvc.history.nearest import Base, base_of_file
from showvc.history.operations import Step, View, operation
from showvc.history.pending import Outcome, Pending
from showvc.history.people import identity
from showvc.history.remembered import remember, remembered
from showvc.history.shows import Shows
from showvc.history.snapshots import Facts, commit_tree, message_of, record_work, snapshot
from showvc.history.sources import Source
from showvc.history.working import look
from showvc.merging import (
    Choice,
    Conflict,
    Merge,
    Settlement,
    Side,
    Sides,
    effect_of_choice,
    merge,
    settle,
    settle_by_value,
    unify,
    value_place,
)
from showvc.merging.places import free_value
from showvc.store.calling import GitFailed

# --- beginning ---


def merge_source(
    archive: Archive,
    source: Source,
    shows: Shows,
    take_remembered: bool = False,
    base: Base | None = None,
    yes: bool = False,
) -> Outcome:
    """Merges a snapshot, a draft or a file into this draft; `base` is a file's, where it is known already.

    What only the two together lose is not recorded, and nothing else is, without a `yes`.
    """
    with operation(archive, f"merge {source.name}") as step:
        refuse_second(step)
        was = step.after
        mine = mine_recorded(step, f"Edits kept before merging {source.name}", shows)
        if source.commit:
            pending = _of_snapshot(archive, source, mine)
        else:
            pending = _of_file(step, source, base or base_of_file(archive, shows, source, mine), shows)
        return begin(step, was, pending, shows, take_remembered, yes)


def merge_within(
    step: Step, name: str, commit: str, shows: Shows, take_remembered: bool = False, yes: bool = False
) -> Outcome:
    """Merges a snapshot into this draft as part of a larger step; `name` is what it is called to people."""
    refuse_second(step)
    was = step.after
    mine = mine_recorded(step, f"Edits kept before merging {name}", shows)
    source = Source(name, shows.at(commit), commit)
    return begin(step, was, _of_snapshot(step.archive, source, mine), shows, take_remembered, yes)


def begin(step: Step, was: View, pending: Pending, shows: Shows, take_remembered: bool, yes: bool) -> Outcome:
    """Begins a merge. One that is held leaves all as it `was`, and can be begun again with a yes."""
    outcome = proceed(step, pending, shows, take_remembered, yes)
    if outcome.held:
        step.after = was
    return outcome


def _of_snapshot(archive: Archive, source: Source, mine: str) -> Pending:
    assert source.commit is not None, "a source without a snapshot is a file"
    bases = (
        tuple(archive.git("merge-base", "--all", mine, source.commit).split())
        if _related(archive, mine, source.commit)
        else ()
    )
    if not bases:
        raise ShowError(
            f"{source.name} has no snapshot in common with this draft",
            "merge it as a file: showvc export it, then showvc merge FILE",
        )
    words = f"from their last common snapshot {bases[0][:7]}"
    return Pending("merge", source.name, bases, source.commit, f"Merged {source.name}", base_words=words)


def _related(archive: Archive, one: str, other: str) -> bool:
    try:
        archive.git("merge-base", one, other)
    except GitFailed:
        return False
    return True


def _of_file(step: Step, source: Source, base: Base, shows: Shows) -> Pending:
    """A file becomes a snapshot on its base, so that it merges like any other."""
    archive = step.archive
    files = archive.files(base.commit)
    tree = archive.write_tree(files_with(shows, files, shows.of_files(files), source.show))
    if tree == archive.tree_of(base.commit):
        incoming = base.commit
        return Pending("merge", source.name, (incoming,), incoming, f"Merged {source.name}", base_words=base.why)
    counts = edits(shows.of_files(files), source.show).counts()
    incoming = commit_tree(step, tree, [base.commit], message_of(f"{source.name}, as it was received", counts))
    step.keep.append(incoming)
    return Pending("merge", source.name, (base.commit,), incoming, f"Merged {source.name}", base_words=base.why)


def refuse_second(step: Step) -> None:
    if step.before.pending:
        raise ShowError(
            f"the {step.before.pending['what']} of {step.before.pending['source']} is still open",
            "settle it with: showvc settle, or drop it: showvc settle --drop",
        )


def mine_recorded(step: Step, note: str, shows: Shows) -> str:
    """The last snapshot of this draft, after the folder's unrecorded edits became one."""
    record_work(step, note, shows)
    last = step.after.refs.get(DRAFTS + step.after.draft)
    if last is None:
        raise ShowError("nothing is recorded yet", 'record a first snapshot: showvc record --note "First plot"')
    return last


# --- going on ---


def pending_merge(archive: Archive, shows: Shows) -> Outcome | None:
    """How the open merge stands, or None where none is open.

    Mine is what stands in the folder, as it will be recorded when something is settled.
    """
    plain = operations.pending_of(archive)
    last = archive.last
    if plain is None or last is None:
        return None
    found = _standing(archive, Pending.from_plain(plain), shows, _in_the_folder(archive, shows, last))
    return replace(found, gained=edits(found.mine, found.merge.show), held=found.merge.held)


def _standing(archive: Archive, pending: Pending, shows: Shows, mine: Show) -> Outcome:
    """How an open merge stands, before anything more is decided."""
    merged = _made(archive, pending, shows, mine)
    return Outcome(
        _with_ids(pending, merged),
        merged,
        offers=remembered(archive, merged.conflicts),
        mine=mine,
        engineers=_engineers(archive, pending, archive.last, merged),
    )


def _engineers(archive: Archive, pending: Pending, last: str | None, merged: Merge) -> Engineers:
    return engineers(archive, pending.bases, last, pending.incoming, merged.conflicts) if last else {}


def _in_the_folder(archive: Archive, shows: Shows, last: str) -> Show:
    """The folder's show; the last snapshot's where something there cannot be read, which settling then tells."""
    try:
        return shows.of_work(look(archive).require_whole(), last)
    except (ShowError, MachineError):
        return shows.at(last)


def sides_of(archive: Archive, outcome: Outcome, shows: Shows) -> Sides[Show]:
    """The three shows of an open merge, to be drawn side by side."""
    pending = outcome.pending
    return Sides(base_of(archive, pending.bases, shows).show, outcome.mine, shows.at(pending.incoming))


def effect_of(archive: Archive, outcome: Outcome, conflict: Conflict, choice: Choice, shows: Shows) -> Comparison:
    """What a choice would change, and what that does to people, against leaving all as mine has it."""

    def again(more: Iterable[Settlement]) -> Merge:
        known = outcome.pending.settlements
        return _made(archive, replace(outcome.pending, settlements=(*known, *more)), shows, outcome.mine)

    return effect_of_choice(again, conflict, choice)


Choose = Callable[[Outcome], Sequence[Settlement]]


def settle_open(archive: Archive, choose: Choose, shows: Shows, said: str = "settle", *, yes: bool = False) -> Outcome:
    """Settles conflicts of the open merge as `choose` says; records when the last is settled.

    Where the whole loses what both sides had, and no conflict told it, the merge stays open without a `yes`.
    """
    with operation(archive, said) as step:
        pending = _pending(step)
        mine = shows.at(mine_recorded(step, f"Edits kept before settling {pending.source}", shows))
        now = _standing(archive, pending, shows, mine)
        pending, merged, offers = now.pending, now.merge, now.offers
        at = (step.after.refs[DRAFTS + step.after.draft], pending.incoming)
        chosen = tuple(replace(each, at=at) for each in choose(now))
        keys = {settlement.key for settlement in chosen}
        kept = tuple(known for known in pending.settlements if known.key not in keys)
        outcome = proceed(step, replace(pending, settlements=(*kept, *chosen)), shows, yes=yes)
        given = {each.key for each in chosen if each.how == "value" and each.key not in offers}
        for conflict in merged.conflicts:
            if conflict.kind == "double-booked" and conflict.key in given:
                _refuse_taken(outcome, pending.ids[conflict.key], value_place(conflict))
        remember(step, chosen)  # only what was accepted
        return outcome


def reopen(archive: Archive, key: str, shows: Shows) -> Outcome:
    """Takes an answer of the open merge back: its conflict is asked again."""
    with operation(archive, "settle: back to the previous conflict") as step:
        pending = _pending(step)
        kept = tuple(known for known in pending.settlements if known.key != key)
        return proceed(step, replace(pending, settlements=kept), shows)


def _refuse_taken(outcome: Outcome, name: str, place: str) -> None:
    """A number or address that something else has is no settlement of a double booking."""
    show = outcome.merge.show
    doubled = (each for each in outcome.merge.conflicts if each.kind == "double-booked")
    if not any(f"{place}/".startswith(f"{path}/") for each in doubled for path in each.paths):
        return
    value, free = get(show, parse(place)), free_value(show, place)
    way_out = "give another, or take mine or incoming"
    if free is not None:
        way_out = f"free is {free}: showvc settle {name} --value {free}"
    raise ShowError(f"{value} is taken too; {name} stays open", way_out)


def side_of(archive: Archive, conflict: Conflict, side: Side) -> Settlement:
    """A decision for one side, signed and dated."""
    return settle(conflict, side, identity(archive).name, _now())


def value_of(archive: Archive, conflict: Conflict, value: Any) -> Settlement:
    """A decision for a value of its own, signed and dated."""
    return settle_by_value(conflict, value, identity(archive).name, _now())


def unify_twins(archive: Archive, keep: str, other: str, shows: Shows) -> Outcome | Comparison:
    """Makes one thing of two: the answer to a twin of the open merge, else in the show folder at once."""
    said, kept, gone = f"settle --unify {keep}={other}", join(*parse(keep)), join(*parse(other))
    if operations.pending_of(archive) is not None:
        return settle_open(archive, lambda now: [_made_one(archive, now, kept, gone)], shows, said)
    with operation(archive, said) as step:
        before = shows.of_work(step.before.work, step.before.last)
        after = unify(before, keep, other)
        step.set(work=archive.write_tree(files_with(shows, archive.files(step.before.work), before, after)))
        return edits(before, after)


def _made_one(archive: Archive, now: Outcome, keep: str, other: str) -> Settlement:
    """The answer to the twin of these two. ShowError where no such question is open."""
    for conflict in now.merge.conflicts:
        if conflict.kind == "twin" and {*conflict.paths} == {keep, other}:
            mine = conflict.values_of("mine").get(other, ABSENT) is ABSENT
            return side_of(archive, conflict, "mine" if mine else "incoming")
    raise ShowError(
        f"{keep} and {other} are no twins of the open merge", "settle it first, then make them one in the show"
    )


def drop(archive: Archive) -> Pending:
    """Lets the open merge go; nothing of it stays."""
    with operation(archive, "settle --drop") as step:
        pending = _pending(step)
        step.set(pending=None)
        return pending


def none_open() -> ShowError:
    """That there is no merge to settle or drop."""
    return ShowError("no merge is open", "begin one with: showvc merge SOURCE")


def _pending(step: Step) -> Pending:
    if step.before.pending is None:
        raise none_open()
    return Pending.from_plain(step.before.pending)


def _made(archive: Archive, pending: Pending, shows: Shows, mine: Show, last: str | None = None) -> Merge:
    """The merge as it stands; `last` is this draft's last snapshot, where the step that makes it is not applied yet."""
    base, incoming = base_of(archive, pending.bases, shows), shows.at(pending.incoming)
    told = (
        renamed_since(archive, pending.bases, *filter(None, [last or archive.last]), pending.incoming)
        if pending.joins
        else ()
    )
    return merge(base.show, mine, incoming, pending.settlements, told, base.asked)


def _with_ids(pending: Pending, merged: Merge) -> Pending:
    """Every open conflict has a number of its own, which it keeps for as long as the merge is open."""
    ids = dict(pending.ids)
    for conflict in merged.conflicts:
        ids.setdefault(conflict.key, str(len(ids) + 1))
    return replace(pending, ids=ids)


def proceed(step: Step, pending: Pending, shows: Shows, take_remembered: bool = False, yes: bool = False) -> Outcome:
    """Records a merge in which nothing is left to settle, where it need not be held or `yes` was said; else keeps it
    open.
    """
    archive = step.archive
    last = step.after.refs[DRAFTS + step.after.draft]
    mine = shows.at(last)
    merged = _made(archive, pending, shows, mine, last)
    offers = remembered(archive, merged.conflicts)
    reused: dict[str, Settlement] = {}
    while take_remembered and (more := {key: offers[key] for key in offers.keys() - reused.keys()}):
        reused |= more  # what only comes up by them may have been settled before too
        pending = replace(pending, settlements=(*pending.settlements, *more.values()))
        merged = _made(archive, pending, shows, mine, last)
        offers = remembered(archive, merged.conflicts)
    known, pending = set(pending.ids.values()), _with_ids(pending, merged)
    gained, fresh = edits(mine, merged.show), frozenset(pending.ids.values()) - known
    outcome = Outcome(
        pending,
        merged,
        offers=offers,
        gained=gained,
        mine=mine,
        fresh=fresh,
        reused=tuple(reused.values()),
        engineers=_engineers(archive, pending, last, merged),
    )
    if not merged.clean or (merged.held and not yes and not _nothing_new(outcome)):
        step.keep.append(pending.incoming)
        step.set(pending=pending.plain())
        return replace(outcome, held=merged.clean)
    step.set(pending=None)
    return _concluded(step, outcome, shows, last)


def _nothing_new(outcome: Outcome) -> bool:
    pending = outcome.pending
    return pending.bases == (pending.incoming,) or (not outcome.gained and not pending.joins)


def _concluded(step: Step, outcome: Outcome, shows: Shows, last: str) -> Outcome:
    """Records a merge that is clean."""
    archive, pending = step.archive, outcome.pending
    if _nothing_new(outcome):
        back = taken_back(archive, pending.incoming, last) if pending.bases == (pending.incoming,) else None
        return replace(outcome, nothing=True, taken_back=back)
    if pending.joins and pending.bases == (last,) and not pending.settlements:
        step.advance(pending.incoming, archive.tree_of(pending.incoming))
        return replace(outcome, snapshot=snapshot(archive, pending.incoming))
    before = archive.files(pending.bases[0])
    mine, incoming = archive.files(last), archive.files(pending.incoming)
    files = merged_files(shows, before, mine, incoming, outcome.merge.show, outcome.merge.renamed)
    tree = archive.write_tree(files)
    parents = [last, pending.incoming] if pending.joins else [last]
    oid = commit_tree(
        step, tree, parents, message_of(pending.note, outcome.gained.counts(), Facts(pending.undoes, pending.side))
    )
    step.advance(oid, tree)
    return replace(outcome, snapshot=snapshot(archive, oid))


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="seconds")
