"""Editing fields, one or many, and recording."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import NEEDS_A_PERSON, Session, command

if TYPE_CHECKING:
    from showvc.document import Show
    from showvc.editing import Done
    from showvc.history.editing import Edited
    from showvc.history.restoring import Restored

Where = Annotated[
    list[str] | None,
    typer.Option(
        "--where",
        metavar="FIELD=VALUE",
        help="Only of things with this department, tag, kind, place, group or other field; repeated, all must hold.",
    ),
]
Yes = Annotated[bool, typer.Option("--yes", help="Edit what is shown; without it nothing is written.")]


@command("set", signs=True, context_settings={"ignore_unknown_options": True})  # a level is below zero
def set_field(
    session: Session,
    fields: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FIELD VALUE…", help="A field, such as users/sm/channels/fly/talk, and its value; then the next."
        ),
    ] = None,
    where: Where = None,
    patch: Annotated[
        str | None,
        typer.Option("--patch", metavar="FILE", help="Apply an RFC 6902 JSON Patch; - reads standard input."),
    ] = None,
    yes: Yes = False,
) -> int:
    """Edit fields of the show folder. The edit is checked, and recorded with the next snapshot.

    In a pattern * stands within one step: users/spot-*/channels/cue/listen. What a pattern or --where would edit is
    shown first, and written with --yes (exit code 1 without). A label or name that one thing alone has serves as an id.

    While a merge is open, the edit counts as mine, and may settle a conflict or bring one up.

    Examples: showvc set users/sm/channels/fly/talk latch; showvc set users/sm/channels/snd '{number: 5}'
    """
    from showvc.document import ShowError
    from showvc.document.patterns import is_pattern
    from showvc.editing import conditions, set_fields
    from showvc.history.editing import read_value, said_pairs

    texts = fields or []
    if patch is not None:
        if texts or where:
            raise ShowError("--patch stands alone", "leave out the fields and --where")
        return _patch(session, patch)
    if not texts or len(texts) % 2:
        lone = f"{texts[-1]} has no value" if texts else "no field is named"
        raise ShowError(lone, "showvc set FIELD VALUE, and more pairs after it")
    pairs, asked = list(zip(texts[::2], texts[1::2], strict=True)), conditions(where or ())
    many = bool(asked) or any(is_pattern(path) for path, _ in pairs)
    return edited(
        session,
        f"set {said_pairs(pairs)}",
        lambda show: set_fields(show, pairs, read_value, asked),
        again=("set", *texts, *_where_words(where)) if many and not yes else None,
        whole=many or len(pairs) > 1,
    )


def _patch(session: Session, name: str) -> int:
    import sys
    from pathlib import Path

    from showvc.document import ShowError
    from showvc.editing import patched
    from showvc.formats.nodes import MAX_DOCUMENT_BYTES
    from showvc.formats.sources import file_bytes

    size = MAX_DOCUMENT_BYTES
    content = sys.stdin.buffer.read(size + 1) if name == "-" else file_bytes(Path(name), size)
    if len(content) > size:
        raise ShowError(f"{name}: is over {size:,} bytes", "a patch of a show is smaller")
    try:
        text = content.decode()
    except UnicodeDecodeError as error:
        raise ShowError(f"{name}: is not UTF-8 text: {error.reason}", "write it with: showvc compare --patch") from None
    return edited(session, f"set --patch {name}", lambda show: patched(show, text, name), whole=True)


@command("remove", signs=True)
def remove(
    session: Session,
    fields: Annotated[
        list[str], typer.Argument(metavar="FIELD…", help="What to remove, such as users/sm/channels/snd.")
    ],
    everywhere: Annotated[
        bool, typer.Option("--everywhere", help="Remove all that refers to it too: channels, keys, bridges, paths.")
    ] = False,
    where: Where = None,
    yes: Yes = False,
) -> int:
    """Remove fields, channels, keys or items from the show folder.

    What a pattern, --where or --everywhere would remove is shown first, and removed with --yes (exit code 1 without).

    Examples: showvc remove users/sm/channels/snd; showvc remove groups/snd --everywhere
    """
    from showvc.document.patterns import is_pattern
    from showvc.document.pointers import join, parse
    from showvc.editing import conditions, places, remove_everywhere, remove_fields
    from showvc.identity.calling import find

    asked = conditions(where or ())
    many = everywhere or bool(asked) or any(map(is_pattern, fields))

    def change(show: Show) -> Done:
        if not everywhere:
            return remove_fields(show, fields, asked)
        paths = [path if "/" in path else join(*find(show, path)) for path in fields]
        return remove_everywhere(show, [place for path in paths for place in places(show, path, asked, there=True)])

    words = ("--everywhere",) if everywhere else ()
    return edited(
        session,
        " ".join(["remove", *(join(*parse(path)) if "/" in path else path for path in fields), *words]),
        change,
        again=("remove", *fields, *words, *_where_words(where)) if many and not yes else None,
        whole=many or len(fields) > 1,
    )


def _where_words(where: list[str] | None) -> list[str]:
    return [word for each in where or () for word in ("--where", each)]


def edited(
    session: Session,
    said: str,
    change: Callable[[Show], Done],
    again: Sequence[str] | None = None,
    whole: bool = False,
) -> int:
    """Edits the show folder and tells what that does; where `again` is the call that lacks --yes, only tells it.

    `whole` tells the whole effect on people, and not only the losses that matter most.
    """
    from showvc.history.editing import edit
    from showvc.history.verdicts import verdict_here
    from showvc.rules import judge

    done = edit(session.archive, session.shows, said, change, write=again is None)
    if session.as_json:
        from showvc.changes import effect_of

        verdict = verdict_here(session.archive, session.shows) if done.written else judge(done.after)
        session.data(
            {
                "changes": [change.plain() for change in done.changes.changes],
                "effect": effect_of(done.before, done.after).plain(),
                "verdict": verdict and verdict.plain(),
                "written": done.written,
                "notes": list(done.notes),
                "findings": [finding.code for finding in done.new_findings],
                "lost": done.brought.plain(),
            }
        )
    else:
        for line in _lines(done, whole):
            session.say(line)
        if again is not None and done.changes:
            session.say(f"Preview only. Do it: showvc {shlex.join(again)} --yes")
    if again is not None and done.changes:
        return NEEDS_A_PERSON
    return NEEDS_A_PERSON if any(finding.severity == "block" for finding in done.new_findings) else 0


def _lines(done: Edited, whole: bool) -> Iterator[str]:
    from showvc.changes import effect_of
    from showvc.cli.screen import wrapped
    from showvc.cli.texts import blocked_line, change_lines, effect_lines, finding_lines, guard_lines, lost_lines

    blocks = sum(finding.severity == "block" for finding in done.new_findings)
    if whole:
        yield from [blocked_line(blocks)] if blocks and done.written else []
        yield from effect_lines(done.before, done.after, effect_of(done.before, done.after))
    if done.replaced and done.changes:
        yield "The whole of it is replaced; what is not named goes back to its default, or goes away:"
    yield from change_lines(done.changes) or ["Nothing changes: it is so already."]
    for note in done.notes:
        yield from wrapped(note)
    yield from finding_lines(done.new_findings)
    if not whole:
        yield from guard_lines(done.before, done.after, done.brought)
        yield from lost_lines(done.before, done.brought, "showvc compare")
    elif done.written and done.changes:
        yield "Undo: showvc undo"


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
