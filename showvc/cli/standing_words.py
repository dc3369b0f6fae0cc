"""What `now` tells."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from showvc.cli.app import Session


def standing(session: Session) -> dict[str, Any]:
    """Where this folder stands, as plain values."""
    from showvc.changes import edits
    from showvc.document import Show, ShowError
    from showvc.history.joining import pending_merge
    from showvc.history.snapshots import snapshot
    from showvc.history.working import work_tree

    archive, shows = session.archive, session.shows
    last = archive.last
    found: dict[str, Any] = {"title": "", "draft": archive.draft, "last": None, "unrecorded": {}, "conflicts": 0}
    found["last"] = snapshot(archive, last).plain() if last else None
    try:
        work = shows.of_work(work_tree(archive), last)
        found["title"] = work.title
        found["unrecorded"] = edits(shows.at(last) if last else Show(head=work.head), work).counts()
        found["problems"] = []
    except ShowError as error:
        found["problems"] = [str(problem) for problem in error.problems]
    pending = pending_merge(archive, shows)
    found["merge"] = pending and f"{pending.pending.what} of {pending.pending.source}"
    found["conflicts"] = len(pending.merge.conflicts) if pending else 0
    found["hub"] = _hub(session)
    found["release"] = _release(session)
    return found


def _hub(session: Session) -> dict[str, Any] | None:
    from showvc.history.hub import hub_state

    state = hub_state(session.archive)
    return state.plain() if state else None


def _release(session: Session) -> dict[str, Any] | None:
    from showvc.cli.texts import when_words
    from showvc.release.store import releases

    known = releases(session.archive)
    if not known:
        return None
    last = known[-1]
    over = f", over: {last.over}" if last.over else ""
    words = f"{last.stamp}, of {last.code[:7]}, {when_words(last.when)}, {last.who}{over}"
    return {"stamp": last.stamp, "snapshot": last.code[:7], "when": last.when, "words": words}


def standing_lines(found: dict[str, Any]) -> Iterator[str]:
    """The same in sentences."""
    from showvc.cli.texts import first_line, when_words

    last = found["last"]
    yield f"Show:      {found['title'] or '(no title)'}"
    yield f"Draft:     {found['draft']}"
    if last:
        marks = f" [{', '.join(last['marks'])}]" if last["marks"] else ""
        yield f"Last:      {last['code']}{marks}  {when_words(last['when'])}  {last['who']}: {first_line(last['note'])}"
    counts = ", ".join(f"{count} {kind}" for kind, count in found["unrecorded"].items())
    yield f"Edits:     {counts + ', not recorded yet' if counts else 'all recorded'}"
    for problem in found.get("problems", []):
        yield f"           cannot be read: {problem}"
    if found["merge"]:
        yield f"Open:      {found['merge']}, {found['conflicts']} to settle: showvc settle"
    hub = found["hub"]
    yield f"Hub:       {hub['words'] if hub else 'none'}"
    for words in hub["wrong"] if hub else ():
        yield f"           ! {words}"
    release = found["release"]
    yield f"Release:   {release['words'] if release else 'none'}"
