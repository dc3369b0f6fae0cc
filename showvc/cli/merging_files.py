"""Merging any three sources without a history."""

from __future__ import annotations

from pathlib import Path

from showvc.cli.app import NEEDS_A_PERSON, Session


def merge_three(
    session: Session, incoming: str, before: str | None, mine: str | None, into: Path | None, take: str | None
) -> int:
    """Merges three sources into a file, which is written only when nothing is open."""
    from showvc.cli.sources import one_source
    from showvc.cli.texts import verdict_lines
    from showvc.document import ShowError
    from showvc.document.lining import counted
    from showvc.formats.atomic import require_folder, write_atomically
    from showvc.formats.single import single_text
    from showvc.merging import merge, settle
    from showvc.rules import judge

    if before is None or mine is None or into is None:
        raise ShowError("a merge without a history needs --before, --mine and --into", "give all three")
    if into.suffix not in (".yaml", ".yml", ".json"):
        raise ShowError(f"{into} is no single document", "let it end in .show.yaml or .show.json")
    if into.exists():
        raise ShowError(f"{into} is there already", "give another name, or move that file away first")
    if take not in (None, "mine", "incoming"):
        raise ShowError(f"{take!r} is no side", "take mine or incoming")
    base = one_source(session, before).show
    ours, theirs = (one_source(session, name, base).show for name in (mine, incoming))
    merged = merge(base, ours, theirs)
    answers = []
    while take is not None and not merged.clean:
        answers += [settle(conflict, take) for conflict in merged.conflicts]  # type: ignore[arg-type]
        merged = merge(base, ours, theirs, answers)
    judged = judge(merged.show).with_conflicts(len(merged.conflicts))
    session.data({**merged.plain(), "verdict": judged.plain()})
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
    require_folder(into)
    write_atomically(into, single_text(merged.show, into.suffix))
    session.say(f"Written: {into}")
    return 0
