"""Editing single fields, and recording."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import NEEDS_A_PERSON, Session, command

if TYPE_CHECKING:
    from showvc.history.restoring import Restored

Place = Annotated[
    str,
    typer.Argument(metavar="PATH", help="A path into the document, such as users/sm/channels/fly/talk."),
]


@command("set", signs=True, context_settings={"ignore_unknown_options": True})  # a level is below zero
def set_field(
    session: Session,
    path: Place,
    value: Annotated[str, typer.Argument(metavar="VALUE", help="The value; fields of a thing as '{number: 5}'.")],
) -> int:
    """Edit one field in the show folder. The edit is checked, and recorded with the next snapshot.

    While a merge is open, the edit counts as mine, and may settle a conflict or bring one up.

    Examples: showvc set users/sm/channels/fly/talk latch; showvc set users/sm/channels/snd '{number: 5}'
    """
    from showvc.history.editing import set_value

    return _told(session, set_value(session.archive, session.shows, path, value))


@command("remove", signs=True)
def remove(session: Session, path: Place) -> int:
    """Remove a field, channel, key or item from the show folder.

    Example: showvc remove users/sm/channels/snd
    """
    from showvc.history.editing import remove_value

    return _told(session, remove_value(session.archive, session.shows, path))


def _told(session: Session, done: object) -> int:
    from showvc.cli.texts import change_lines, finding_lines, guard_lines, lost_lines
    from showvc.history.editing import Edited

    assert isinstance(done, Edited), "an edit tells what it did"
    changes = [change.plain() for change in done.changes.changes]
    session.data({"changes": changes, "findings": [f.code for f in done.new_findings], "lost": done.brought.plain()})
    if done.replaced and done.changes:
        session.say("The whole of it is replaced; what is not named goes back to its default, or goes away:")
    for line in change_lines(done.changes) or ["Nothing changes: it is so already."]:
        session.say(line)
    for line in finding_lines(done.new_findings):
        session.say(line)
    guards = guard_lines(done.before, done.after, done.brought)
    for line in (*guards, *lost_lines(done.before, done.brought, "showvc compare")):
        session.say(line)
    return NEEDS_A_PERSON if any(finding.severity == "block" for finding in done.new_findings) else 0


@command("record", signs=True)
def record(
    session: Session,
    note: Annotated[str, typer.Option("--note", "-n", metavar="TEXT", help="What was changed, and why.")],
    who: Annotated[
        str | None, typer.Option("--who", metavar="NAME", help="Who is working here; kept with the show.")
    ] = None,
) -> int:
    """Record the show folder as a snapshot. New blocks are told, and it is recorded all the same.

    Ends with exit code 1 where it brings a block.
    """
    from showvc.cli.texts import counts_words, guard_lines, lost_lines, verdict_lines
    from showvc.document.lining import counted
    from showvc.history.brought import brought
    from showvc.history.people import introduce
    from showvc.history.snapshots import record as take
    from showvc.history.verdicts import verdict_here

    if who:
        introduce(session.archive, who)
    made = take(session.archive, note, session.shows)
    verdict = verdict_here(session.archive, session.shows)
    if made is None:
        session.data({"snapshot": None, "verdict": verdict and verdict.plain()})
        for line in verdict_lines(verdict):
            session.say(line)
        session.say("Nothing has changed since the last snapshot.")
        return 0
    news = brought(made.before, made.after)
    session.data(
        {
            "snapshot": made.snapshot.plain(),
            "new_blocks": news.blocks,
            "lost": news.plain(),
            "verdict": verdict and verdict.plain(),
        }
    )
    for line in verdict_lines(verdict):
        session.say(line)
    session.say(f"Recorded {made.snapshot.code}: {counts_words(made.snapshot.changes) or 'comments and order only'}.")
    if news.blocks:
        session.say(f"New with this: {counted(news.blocks, 'block')}.")
    guards = guard_lines(made.before, made.after, news)
    for line in (*guards, *lost_lines(made.before, news, "showvc compare last-1 last")):
        session.say(line)
    if made.clock:
        session.say(made.clock)
    return NEEDS_A_PERSON if news.blocks else 0


@command("restore", signs=True)
def restore(
    session: Session,
    source: Annotated[str, typer.Argument(metavar="SOURCE", help="A snapshot, mark, draft, time, folder or file.")],
) -> int:
    """Restore the whole show folder from a source. Unrecorded edits are kept first.

    What was ever kept so is listed by: showvc history --kept

    While a merge is open, only last can be restored: settle the merge first, or drop it.
    """
    from showvc.cli.sources import one_source
    from showvc.cli.texts import brought_lines, kept_lines
    from showvc.history.restoring import restore as put_back

    done = put_back(session.archive, session.shows, one_source(session, source))
    told = {"restored": source, "changes": done.changes.counts(), "files": list(done.files)}
    session.data({**told, "kept": done.kept and done.kept[:7]})
    if done.before is not None and done.changes and not session.as_json:
        for line in brought_lines(done.before, done.after, done.blocks):
            session.say(line)
    session.say(f"The folder is as in {source}{_restored_words(done)}.")
    for line in kept_lines(done.kept):
        session.say(line)
    if done.changes:
        record = "Step" if done.recorded else "Record it with: showvc record --note TEXT, or step"
        session.say(f"{record} back with: showvc undo")
    return NEEDS_A_PERSON if done.blocks else 0


def _restored_words(done: Restored) -> str:
    from showvc.cli.texts import counts_words

    if not done.files:
        return " already"
    if done.before is None:
        return f": {', '.join(done.files[:5])}{' and more' if len(done.files) > 5 else ''} put right"
    return f": {counts_words(done.changes.counts()) or 'comments and order only'}"
