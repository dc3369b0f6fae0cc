"""Exchanging with others: the hub, joining, syncing, and whether all is whole."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from showvc.cli.app import MACHINE_FAILED, NEEDS_A_PERSON, Session, command
from showvc.document.lining import counted

if TYPE_CHECKING:
    from collections.abc import Iterable

    from showvc.history.hub_plan import Notice
    from showvc.history.hub_sync import Synced
    from showvc.history.pending import Outcome

Remembered = Annotated[bool, typer.Option("--remembered", help="Settle conflicts as they were settled before.")]


@command("hub")
def hub(
    session: Session,
    place: Annotated[
        str | None,
        typer.Argument(metavar="[HUB]", help="A folder (made if empty or missing), HOST:PATH, ssh:// or https://."),
    ] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Work without a hub from now on.")] = False,
) -> None:
    """Name or make the hub where engineers exchange. It is made in a folder or on a stick.

    Without HUB: how many snapshots there are to send and to receive.

    Examples: showvc hub /media/stick/salt-road; showvc hub comms@hub.example:salt-road
    """
    from showvc.document import ShowError
    from showvc.history.hub import forget_hub, hub_state, name_hub

    if forget and place is not None:
        raise ShowError("--forget and a hub: which of the two?", "give the one or the other")
    if forget:
        forget_hub(session.archive)
        session.data({"hub": None})
        session.say("No hub any more; all that is recorded stays here.")
        return
    if place is None:
        state = hub_state(session.archive)
        session.data(state.plain() if state else {"hub": None})
        session.say(
            f"Hub: {state.words}" if state else "No hub is named yet. Name or make one: showvc hub FOLDER-OR-URL"
        )
        for words in state.wrong if state else ():
            session.say(f"! {words}")
        return
    named = name_hub(session.archive, place)
    session.data({"hub": named.address.text, "made": named.made, "notes": list(named.notes)})
    session.say(f"{named.address.text} is {'a new hub, and ' if named.made else ''}the hub of this show now.")
    for note in named.notes:
        session.say(f"  Note: {note}")
    session.say("Next: showvc sync. Others take part with: showvc join HUB DIR")


@command("join")
def join(
    session: Session,
    place: Annotated[str, typer.Argument(metavar="HUB", help="The hub: a folder, HOST:PATH, ssh:// or https://.")],
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The new show folder; missing or empty.")],
    draft: Annotated[str | None, typer.Option("--draft", metavar="NAME", help="The draft to start on.")] = None,
    who: Annotated[
        str | None, typer.Option("--who", metavar="NAME", help="Who is working here; kept with the show.")
    ] = None,
) -> int:
    """Join a show: copy all that a hub holds into a new folder."""
    from showvc.document.lining import when_words
    from showvc.history.hub_join import join_hub
    from showvc.release.stamp import stamp_of

    made = join_hub(place, folder.resolve(), who, draft, session.progress("Looking at"), stamp_of)
    notices = [notice.plain() for notice in made.notices]
    session.data(
        {"folder": str(folder), "hub": made.hub, "draft": made.draft, "snapshot": made.last.code, "notices": notices}
    )
    session.say(f"{folder} takes part in the show at {made.hub}.")
    others = [name for name in made.drafts if name != made.draft]
    when = when_words(made.last.when)
    session.say(f"Draft {made.draft}, last snapshot {made.last.code} by {made.last.who}, {when}.")
    if others:
        session.say(f"Other drafts: {', '.join(others)}. Go to one with: showvc draft go NAME --show {folder}")
    _say_notices(session, made.notices)
    return NEEDS_A_PERSON if any(notice.needs_person for notice in made.notices) else 0


@command("sync", signs=True)
def sync(
    session: Session,
    remembered: Remembered = False,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Go on with a hub that was put back or rewritten, as it is now.")
    ] = False,
    every: Annotated[
        float | None, typer.Option("--every", metavar="MINUTES", min=0.01, help="Sync again and again, until Ctrl-C.")
    ] = None,
    yes: Annotated[
        bool, typer.Option("--yes", help="Record and send it though only the two sides together lose something.")
    ] = False,
) -> int:
    """Send and receive changes.

    Receives what others recorded, merges it with what you recorded, and sends the result to the hub.

    Conflicts wait to be settled, as with any merge: showvc settle
    """
    from showvc.document import ShowError

    if every is not None and anyway:
        way_out = "look once with: showvc sync --anyway, then begin showvc sync --every MINUTES"
        raise ShowError("--anyway takes the hub as it is now, which is decided once and not every few minutes", way_out)
    if every is not None:
        return _again_and_again(session, every * 60, remembered)
    return _tell(session, _agreed(session, _synced(session, remembered, anyway, yes), remembered, anyway))


def _agreed(session: Session, done: Synced, remembered: bool, anyway: bool) -> Synced:
    """Asks, at a terminal, whether a merge that is held is to be recorded and sent."""
    if done.outcome is None or not done.outcome.held:
        return done
    from showvc.cli.settling import agreed

    found: list[Synced] = [done]

    def again() -> Outcome:
        found.append(_synced(session, remembered, anyway, True))
        return found[-1].outcome or done.outcome  # type: ignore[return-value]

    agreed(session, done.outcome, again)
    return found[-1]


def _synced(session: Session, remembered: bool, anyway: bool = False, yes: bool = False) -> Synced:
    from showvc.history.hub_incoming import RELEASE_TABLE
    from showvc.history.hub_sync import Options
    from showvc.history.hub_sync import sync as exchange
    from showvc.history.hub_tables import JOINS
    from showvc.release.stamp import stamp_of
    from showvc.release.store import join_table

    joins = {**JOINS, RELEASE_TABLE: join_table}
    options = Options(anyway, remembered, joins, stamp_of, session.progress("Looking at"), session.waiting, yes)
    return exchange(session.archive, session.shows, options)


def _tell(session: Session, done: Synced) -> int:
    from showvc.cli.texts import verdict_lines
    from showvc.history.verdicts import verdict_here

    verdict = verdict_here(session.archive, session.shows)
    session.data({**_plain(done), "verdict": verdict and verdict.plain()})
    for line in (*verdict_lines(verdict), *_lines(done)):
        session.say(line)
    _say_notices(session, done.notices)
    return NEEDS_A_PERSON if done.needs_person else 0


def _plain(done: Synced) -> dict[str, Any]:
    merged = done.outcome.plain() if done.outcome else {"conflicts": [], "snapshot": None, "combined": None}
    return {
        "hub": done.hub,
        "sent": done.sent,
        "taken": done.taken,
        "names": list(done.names_sent),
        "snapshot": merged["snapshot"],
        "conflicts": merged["conflicts"],
        "combined": merged["combined"],
        "notices": [notice.plain() for notice in done.notices],
        "tries": done.tries,
    }


def _lines(done: Synced) -> Iterable[str]:
    from showvc.cli.settling import outcome_lines

    if done.outcome is not None and not done.outcome.nothing:
        yield from outcome_lines(done.outcome)
        yield ""
    told = [notice for notice in done.notices if notice.kind not in _ASIDE]
    if not (done.sent or done.taken or done.names_sent or told or done.needs_person):
        yield f"{done.hub} and this folder hold the same snapshots."
    if done.taken:
        yield f"Taken: {counted(done.taken, 'snapshot')}."
    if done.names_sent:
        names = ", ".join(done.names_sent)
        yield f"Sent:  {counted(done.sent, 'snapshot')} ({names})." if done.sent else f"Sent:  {names}."
    if done.tries > 1:
        yield f"Others were faster {done.tries - 1} time{'s' if done.tries > 2 else ''}; their work is in."


_ASIDE = ("unrecorded", "program", "lock")
"""Notices that say nothing of what the hub holds."""


def _say_notices(session: Session, notices: Iterable[Notice]) -> None:
    from showvc.cli.screen import wrapped

    for notice in notices:
        for part in wrapped(f"{'!' if notice.needs_person else '-'} {notice.words}"):
            session.say(part)


def _again_and_again(session: Session, seconds: float, remembered: bool) -> int:
    """Syncs until somebody stops it, and speaks where there is something new to say.

    A hub that is away for a while is no reason to end.
    """
    from datetime import datetime

    from showvc.document import MachineError

    code, said = 0, ""
    session.say(f"Syncing every {seconds / 60:g} minutes. Ctrl-C ends it.")
    with _until_asked() as asked:
        while not asked:
            try:
                done = _synced(session, remembered)
                fresh = repr((tuple(_lines(done)), done.notices))
                if fresh != said:
                    session.say(f"{datetime.now().astimezone():%Y-%m-%d %H:%M}")
                    code, said = _tell(session, done), fresh
            except MachineError as error:
                if asked:
                    break  # Ctrl-C reached the exchange too
                if str(error) != said:
                    session.aside(f"showvc: {error}")
                code, said = MACHINE_FAILED, str(error)
            _wait(seconds, asked)
    session.aside("Stopped; what was recorded is safe.")
    return code


@contextmanager
def _until_asked() -> Iterator[list[int]]:
    """A list that the first Ctrl-C fills; the second ends the program where it stands, as everywhere."""
    import signal

    asked: list[int] = []
    before = signal.getsignal(signal.SIGINT) or signal.default_int_handler

    def ask(number: int, _: object) -> None:
        asked.append(number)
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, ask)
    try:
        yield asked
    finally:
        signal.signal(signal.SIGINT, before)


def _wait(seconds: float, asked: list[int]) -> None:
    import time

    until = time.monotonic() + seconds
    while not asked and time.monotonic() < until:
        time.sleep(min(0.2, seconds))


@command("verify")
def verify(
    session: Session,
    mends: Annotated[
        bool, typer.Option("--mend", help="Make damaged small files and names anew, or set them aside first.")
    ] = False,
) -> int:
    """Check that history, snapshots, operations and hub are intact."""
    from showvc.cli.screen import hanging
    from showvc.history.hub_verify import verify as look
    from showvc.history.mending import mend

    mended = mend(session.archive_as_it_is) if mends else []
    archive = session.archive if mends else session.archive_as_it_is
    checks = look(archive, session.progress("Looking at"), session.waiting)
    session.data({"mended": mended, "checks": [check.plain() for check in checks]})
    for told in mended:
        session.say(f"Mended: {told}")
    for check in checks:
        state = "away " if check.away else "WRONG" if check.wrong else "ok   "
        for line in hanging(f"{state}  {check.name:12} ", check.words, *check.wrong):
            session.say(line)
    if any(check.wrong and not check.away for check in checks):
        if any(check.name in ("history", "snapshots", "operations") and check.wrong for check in checks):
            session.say("Keep a copy of this folder as it is. A sound one comes from the hub: showvc join HUB NEW-DIR")
        return NEEDS_A_PERSON
    return MACHINE_FAILED if any(check.away for check in checks) else 0
