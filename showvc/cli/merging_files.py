"""Merging any three sources without a history."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from showvc.cli.app import NEEDS_A_PERSON, Session

if TYPE_CHECKING:
    from showvc.merging import Merge


def merge_three(
    session: Session,
    incoming: str,
    before: str | None,
    mine: str | None,
    into: Path | None,
    take: str | None,
    yes: bool,
) -> int:
    """Merges three sources into a file, which is written only when nothing is open."""
    from showvc.changes import effect_of
    from showvc.cli.screen import wrapped
    from showvc.cli.sources import one_source
    from showvc.cli.texts import verdict_lines
    from showvc.document.lining import counted
    from showvc.formats.atomic import require_folder, write_atomically
    from showvc.formats.single import single_text
    from showvc.merging import merge, plain_merge, settle
    from showvc.report.effect_words import caution_line
    from showvc.rules import judge

    before, mine, into = _given(before, mine, into, take)
    base = one_source(session, before).show
    ours, theirs = (one_source(session, name, base).show for name in (mine, incoming))
    merged = merge(base, ours, theirs)
    answers = []
    while take is not None and (asked := [each for each in merged.conflicts if each.kind != "twin"]):
        answers += [settle(conflict, take) for conflict in asked]  # type: ignore[arg-type]
        merged = merge(base, ours, theirs, answers)
    judged = judge(merged.show).with_conflicts(len(merged.conflicts))
    session.data({**plain_merge(merged), "verdict": judged.plain()})
    for line in verdict_lines(judged):
        session.say(line)
    for problem in merged.problems:
        session.say(f"[{problem.side}] {problem.code}: {problem.message}")
    for number, conflict in enumerate(merged.conflicts, 1):
        session.say(f"{number}  {conflict.kind}: {conflict.message}")
        session.say(f"   {', '.join(conflict.paths)}")
    if not merged.clean:
        session.say(f"{counted(len(merged.conflicts), 'conflict')}; {into} is not written.")
        session.say("Settle all of them for one side with: --take mine, or --take incoming")
        return NEEDS_A_PERSON
    if merged.held and not _agreed(session, merged, yes or take is not None):
        session.say(f"{into} is not written. Write it all the same with: --yes")
        return NEEDS_A_PERSON
    if caution := caution_line(ours, merged.show, effect_of(ours, merged.show)):
        for line in wrapped(caution):
            session.say(line)
    require_folder(into)
    write_atomically(into, single_text(merged.show, into.suffix))
    session.say(f"Written: {into}")
    return 0


def _given(before: str | None, mine: str | None, into: Path | None, take: str | None) -> tuple[str, str, Path]:
    """The two other sides and the place of the result. ShowError where one is missing or wrong."""
    from showvc.document import ShowError

    if before is None or mine is None or into is None:
        raise ShowError("a merge without a history needs --before, --mine and --into", "give all three")
    if into.suffix not in (".yaml", ".yml", ".json"):
        raise ShowError(f"{into} is no single document", "let it end in .show.yaml or .show.json")
    if into.exists():
        raise ShowError(f"{into} is there already", "give another name, or move that file away first")
    if take not in (None, "mine", "incoming"):
        raise ShowError(f"{take!r} is no side", "take mine or incoming")
    return before, mine, into


def _agreed(session: Session, merged: Merge, yes: bool) -> bool:
    """Shows what only the two sides together lose; whether it is written all the same."""
    from showvc.cli.screen import confirmed
    from showvc.cli.settling import combined_lines

    for line in combined_lines(merged):
        session.say(line)
    return yes or (session.asks() and confirmed("Write it all the same?"))
