"""What `now` tells."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from showvc.history.archive import Archive
    from showvc.history.shows import Shows


def standing(archive: Archive, shows: Shows) -> dict[str, Any]:
    """Where this folder stands, as plain values."""
    from showvc.history.joining import pending_merge
    from showvc.history.snapshots import clock_behind, snapshot
    from showvc.history.verdicts import verdict_here

    last = snapshot(archive, archive.last) if archive.last else None
    found: dict[str, Any] = {
        "title": "",
        "draft": archive.draft,
        "last": last and last.plain(),
        "unrecorded": {},
    }
    found |= {"conflicts": 0, "problems": []}
    found |= _folder(archive, shows, last.oid if last else None)
    astray = archive.astray
    found["astray"] = astray and astray.why
    if astray is not None:
        found["problems"] = [*found["problems"], *map(str, astray.error.problems)]
    pending = pending_merge(archive, shows)
    found["merge"] = pending and f"{pending.pending.what} of {pending.pending.source}"
    found["conflicts"] = len(pending.merge.conflicts) if pending else 0
    found["hub"] = _hub(archive)
    found["release"] = _release(archive)
    found["clock"] = clock_behind(last)
    found["closed"] = archive.closed and str(archive.closed)
    verdict = None if found["problems"] else verdict_here(archive, shows)
    found["verdict"] = verdict and verdict.plain()
    return found


def _folder(archive: Archive, shows: Shows, last: str | None) -> dict[str, Any]:
    """What the working folder says: its title, its edits counted, or what of it cannot be read."""
    from showvc.changes import edits
    from showvc.document import Show, ShowError
    from showvc.history.working import look

    recorded = shows.at(last) if last else None
    work = look(archive)
    try:
        show = shows.of_work(work.tree, last)
    except ShowError as error:
        more = [problem for problem in error.problems if problem.file not in {None, *work.left_out}]
        return {
            "title": recorded.title if recorded else "",
            "problems": [str(problem) for problem in (*work.problems, *more)],
        }
    if work.problems:
        return {"title": show.title, "problems": [str(problem) for problem in work.problems]}
    return {"title": show.title, "unrecorded": edits(recorded or Show(head=show.head), show).counts()}


def _hub(archive: Archive) -> dict[str, Any] | None:
    from showvc.history.hub import hub_state

    state = hub_state(archive)
    return state.plain() if state else None


def _release(archive: Archive) -> dict[str, Any] | None:
    from showvc.document.lining import when_words
    from showvc.release.store import releases

    known = releases(archive)
    if not known:
        return None
    last = known[-1]
    over = f", over: {last.over}" if last.over else ""
    words = f"{last.stamp}, of {last.code[:7]}, {when_words(last.when)}, {last.who}{over}"
    return {"stamp": last.stamp, "snapshot": last.code[:7], "when": last.when, "words": words}


def standing_lines(found: dict[str, Any]) -> Iterator[str]:
    """The same in sentences, the verdict first, then a fact a line."""
    from showvc.cli.screen import hanging
    from showvc.cli.texts import verdict_lines
    from showvc.rules import Verdict

    told = found["verdict"]
    yield from verdict_lines(told and Verdict.from_plain(told))
    for name, text in standing_facts(found):
        yield from hanging(f"{name + ':' if name else '':<11}", text)


def standing_facts(found: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """The same as a word and a sentence for each fact; what goes on with the fact before it has no word."""
    hub, release = found["hub"], found["release"]
    yield "Show", found["title"] or "(no title)"
    yield "Draft", f"none ({found['astray']})" if found["astray"] else found["draft"]
    yield "Last", _last_words(found["last"])
    yield "Edits", _edits_words(found)
    yield from (("", problem) for problem in found["problems"])
    if found["merge"]:
        count = found["conflicts"]
        left = f"{count} to settle: showvc settle" if count else "nothing left to settle: showvc settle --finish"
        yield "Open", f"{found['merge']}, {left}"
    yield "Hub", hub["words"] if hub else "none"
    yield from (("", f"! {words}") for words in (hub["wrong"] if hub else ()))
    yield "Release", release["words"] if release else "none"
    if found["closed"]:
        yield "Folder", found["closed"]
    if found["clock"]:
        yield "Clock", found["clock"]


def _last_words(last: dict[str, Any] | None) -> str:
    from showvc.document.lining import when_words
    from showvc.report.words import first_line

    if last is None:
        return "none yet; take a first snapshot with: showvc record --note TEXT"
    marks = f" [{', '.join(last['marks'])}]" if last["marks"] else ""
    return f"{last['code']}{marks}  {when_words(last['when'])}  {last['who']}: {first_line(last['note'])}"


def _edits_words(found: dict[str, Any]) -> str:
    from showvc.cli.texts import counts_words

    if found["problems"]:
        return "not known, for something is wrong here:"
    if counts := counts_words(found["unrecorded"]):
        return f"{counts}, not recorded yet"
    return "all recorded" if found["last"] else "nothing is recorded yet"
