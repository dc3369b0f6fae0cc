"""The release file: one show, packed for loading, with all that says what it is.

It is a zip file that any machine opens, but laid out in one way only: these members in this order, not compressed,
no dates. So the same snapshot makes the same bytes on every machine, and a file that is laid out otherwise was
packed again by somebody else and is refused before anything in it is believed.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import struct
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from showvc.changes import Change
from showvc.changes.caution import CAUTION, critical_touched
from showvc.document import Problem, Show, ShowError
from showvc.document.lining import printable, wrapped
from showvc.formats.single import read_single
from showvc.release.canonical import canonical_json, canonical_show
from showvc.release.gate import Gate
from showvc.release.keysheets import WIDTH, key_sheets
from showvc.release.stamp import parse_stamp, spoken, stamp_from_hash
from showvc.rules.finding import Finding

FORMAT = 1
COVER, SHOW, FACTS, SHEETS, SUMS = "read-me-first.txt", "show.json", "release.json", "keysheets.txt", "SHA256SUMS"
MEMBERS = (COVER, SHOW, FACTS, SHEETS, SUMS)
MOST_BYTES = 256 * 1024 * 1024
SUFFIX = ".release.zip"


@dataclass(frozen=True, slots=True)
class Origin:
    """The recorded snapshot that is released: its code, who recorded it and when (RFC 3339, with zone), its note."""

    code: str
    who: str
    when: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Since:
    """What changed since the release before: its stamp, its show, every edit, and the effect of these.

    `effect` is as the JSON of `compare` has it (lost, gained, strips), `words` the same in sentences, the worst
    first.
    """

    stamp: str
    show: Show
    changes: Sequence[Change] = ()
    effect: Mapping[str, Any] = field(default_factory=dict)
    words: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a release file is found to be.

    `problems` say why it is not what its stamp says; `doubts` what was drawn otherwise than this program draws it.
    `stamp`, `facts` and `show` are None where they could not be read.
    """

    stamp: str | None = None
    facts: Mapping[str, Any] | None = None
    show: Show | None = None
    problems: tuple[Problem, ...] = ()
    doubts: tuple[Problem, ...] = ()

    @property
    def holds(self) -> bool:
        return not self.problems


def pack(show: Show, origin: Origin, gate: Gate, since: Since | None = None) -> bytes:
    """The release file of this snapshot: the same bytes for the same arguments, on every machine.

    `since` is None for the first release. ShowError with every reason where the gate does not open, or where the
    show cannot be written as canonical JSON.
    """
    if not gate.opens:
        raise ShowError(gate.refusals)
    document = canonical_show(show)
    facts = _facts(show, document, origin, gate, since)
    texts = {COVER: cover(show, facts), SHEETS: sheets(show, facts)}
    members = {name: text.encode() for name, text in texts.items()}
    return _sealed({**members, SHOW: document, FACTS: canonical_json(facts) + b"\n"})


def pack_name(title: str, stamp: str) -> str:
    """The name of a release file: `the-salt-road_K7F-2R4-W36H.release.zip`."""
    slug = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:40].strip("-")
    return f"{slug or 'show'}_{stamp}{SUFFIX}"


def _facts(show: Show, document: bytes, origin: Origin, gate: Gate, since: Since | None) -> dict[str, Any]:
    digest = hashlib.sha256(document).hexdigest()
    touched = critical_touched(since.show, show) if since else sorted(show.critical_groups)
    return {
        "format": FORMAT,
        "title": show.title,
        "stamp": stamp_from_hash(digest),
        "sha256": digest,
        "snapshot": asdict(origin),
        "previous": since.stamp if since else None,
        "changes": [change.plain() | {"text": change.text} for change in since.changes] if since else [],
        "effect": dict(since.effect) if since else {},
        "effect_words": list(since.words) if since else [],
        "over": {"reason": gate.reason, "findings": [_finding(found) for found in gate.overridden]}
        if gate.reason
        else None,
        "warnings": [_finding(found) for found in gate.standing],
        "critical": list(touched),
        "caution": CAUTION if show.critical_groups or touched else None,
    }


def _finding(found: Finding) -> dict[str, str]:
    return {"code": found.code, "severity": found.severity, "path": found.path, "message": found.message}


# The words


def heading(facts: Mapping[str, Any]) -> list[str]:
    """What is printed on top of everything that belongs to a release: the stamp, and what was overridden."""
    lines = [f"Release {facts['stamp']} · snapshot {facts['snapshot']['code']} · {facts['snapshot']['when']}"]
    if facts["over"]:
        lines.append(f"OVERRIDDEN: {facts['over']['reason']}")
        lines += [f"  let through: {_told(found)}" for found in facts["over"]["findings"]]
    return [printable(line) for line in lines]


def sheets(show: Show, facts: Mapping[str, Any]) -> str:
    """The key sheets of a release."""
    return key_sheets(show, WIDTH, heading(facts))


def cover(show: Show, facts: Mapping[str, Any]) -> str:
    """The first page of a release: what it is, what was let through, and what changed since the one before."""
    snapshot = facts["snapshot"]
    lines = [
        f"RELEASE {facts['stamp']} · {show.title or '(show without a title)'}",
        f"Read aloud: {spoken(facts['stamp'])}",
        "",
        *heading(facts)[1:],
        f"Snapshot {snapshot['code']}, recorded {snapshot['when']} by {snapshot['who']}",
        *(f"  {line}" for line in snapshot["note"].splitlines()),
        f"SHA-256 of show.json: {facts['sha256']}",
    ]
    if facts["caution"]:
        lines += ["", facts["caution"]]
    if facts["critical"]:
        lines.append(f"Critical groups touched: {', '.join(show.label(name) for name in facts['critical'])}")
    if facts["warnings"]:
        lines += ["", "Warnings that stand:", *(f"  {_told(found)}" for found in facts["warnings"])]
    lines += ["", *_since(facts)]
    return "".join(f"{line}\n" for text in lines for line in wrapped_line(printable(text)))


def _since(facts: Mapping[str, Any]) -> list[str]:
    if facts["previous"] is None:
        return ["The first release of this show: there is none to compare it with."]
    if not facts["changes"]:
        return [f"Nothing changed since release {facts['previous']}."]
    effect = [f"  {words}" for words in facts["effect_words"]]
    changes = [f"  {change['text'] or change['path']}" for change in facts["changes"]]
    title = f"Changes since release {facts['previous']} ({len(changes)}):"
    return [*(["Their effect on headset:", *effect, ""] if effect else []), title, *changes]


def _told(found: Mapping[str, str]) -> str:
    return f"{found['message']} ({found['code']}, {found['path']})"


def wrapped_line(text: str) -> list[str]:
    """The line in lines of the page's width; those that follow stand as far in as the first."""
    indent = " " * (len(text) - len(text.lstrip()))
    return [indent + line if line else "" for line in wrapped(text, WIDTH - len(indent))]


# The file


def _sealed(members: Mapping[str, bytes]) -> bytes:
    sums = "".join(f"{hashlib.sha256(members[name]).hexdigest()}  {name}\n" for name in MEMBERS if name != SUMS)
    return _zipped({**members, SUMS: sums.encode()})


def _zipped(members: Mapping[str, bytes]) -> bytes:
    sink = io.BytesIO()
    # Stored, not deflated: two builds of zlib deflate the same bytes in different ways.
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_STORED) as archive:
        for name in MEMBERS:
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.create_system, entry.external_attr = 3, 0o100644 << 16
            archive.writestr(entry, members[name])
    return sink.getvalue()


_HEADER = struct.Struct("<4s14xIIHH")


def _members(data: bytes) -> dict[str, bytes] | None:
    """The members of a file that is laid out as we lay it out, else None. Nothing is unpacked to find out."""
    members: dict[str, bytes] = {}
    place = 0
    for name in MEMBERS:
        if len(data) < place + _HEADER.size:
            return None
        mark, size, _, name_size, extra = _HEADER.unpack_from(data, place)
        start = place + _HEADER.size + name_size + extra
        if mark != b"PK\x03\x04" or data[place + _HEADER.size : start] != name.encode():
            return None
        members[name] = data[start : start + size]
        place = start + size
    return members if _zipped(members) == data else None


def verify(data: bytes, file: str = "the release file", stamp: str | None = None) -> Verdict:
    """Whether these bytes are the release that their stamp says; `stamp` is the one that is expected, if any.

    Any changed byte is found: of the file's layout, of a member (by its SHA-256), of the show (by the stamp). That
    is no signature: somebody who makes a new show gets a new stamp, and only the history can say whose it is.
    """
    if len(data) > MOST_BYTES:
        return _refused(f"is larger than any release: over {MOST_BYTES // 1024 // 1024} MiB", file)
    members = _members(data)
    if members is None:
        return _refused("is not laid out as a release file is: damaged, cut short, or packed again", file)
    if problems := _bad_sums(members, file):
        return Verdict(problems=problems)
    facts = _read_facts(members[FACTS])
    if facts is None:
        return _refused(f"its {FACTS} is not one that showvc writes", file)
    return _judged(members, facts, file, stamp)


def _refused(message: str, file: str) -> Verdict:
    return Verdict(problems=(Problem(message, file, way_out=_AGAIN),))


_AGAIN = "do not load it; ask for the file again"


def _bad_sums(members: Mapping[str, bytes], file: str) -> tuple[Problem, ...]:
    said = members[SUMS].decode("ascii", "replace").splitlines()
    wanted = [f"{hashlib.sha256(members[name]).hexdigest()}  {name}" for name in MEMBERS if name != SUMS]
    if len(said) != len(wanted) or not members[SUMS].endswith(b"\n"):
        return (Problem(f"its {SUMS} was changed", file, way_out=_AGAIN),)
    names = [name for name in MEMBERS if name != SUMS]
    bad = [name for name, line, right in zip(names, said, wanted, strict=True) if line != right]
    return tuple(Problem(f"its {name} is not what was packed", file, way_out=_AGAIN) for name in bad)


def _read_facts(data: bytes) -> dict[str, Any] | None:
    try:
        facts = json.loads(data)
        return facts if canonical_json(facts) + b"\n" == data and _complete(facts) else None
    except (ValueError, RecursionError, ShowError):
        return None


_FACTS: Mapping[str, tuple[type, ...]] = {
    "format": (int,),
    "title": (str,),
    "stamp": (str,),
    "sha256": (str,),
    "snapshot": (dict,),
    "previous": (str, type(None)),
    "changes": (list,),
    "effect": (dict,),
    "effect_words": (list,),
    "over": (dict, type(None)),
    "warnings": (list,),
    "critical": (list,),
    "caution": (str, type(None)),
}


def _complete(facts: Any) -> bool:
    if not isinstance(facts, dict) or facts.keys() != _FACTS.keys() or facts["format"] != FORMAT:
        return False
    if not all(isinstance(facts[name], kinds) for name, kinds in _FACTS.items()):
        return False
    over = facts["over"] or {"reason": "", "findings": []}
    return (
        _texts(facts["snapshot"], ("code", "who", "when", "note"))
        and isinstance(over.get("reason"), str)
        and isinstance(over.get("findings"), list)
        and all(_texts(found, ("code", "message", "path")) for found in (*facts["warnings"], *over["findings"]))
        and all(_texts(change, ("path", "text")) for change in facts["changes"])
        and all(isinstance(word, str) for word in (*facts["critical"], *facts["effect_words"]))
    )


def _texts(value: Any, names: Sequence[str]) -> bool:
    return isinstance(value, dict) and all(isinstance(value.get(name), str) for name in names)


def _judged(members: Mapping[str, bytes], facts: dict[str, Any], file: str, stamp: str | None) -> Verdict:
    digest = hashlib.sha256(members[SHOW]).hexdigest()
    real = stamp_from_hash(digest)
    problems: list[Problem] = []
    if (facts["sha256"], facts["stamp"]) != (digest, real):
        problems.append(Problem(f"says it is {facts['stamp']}, but its show is {real}", file, way_out=_AGAIN))
    if stamp is not None and parse_stamp(stamp) != real:
        problems.append(Problem(f"is {real}, not {parse_stamp(stamp)}", file, way_out="look for the other file"))
    show: Show | None = None
    try:
        show = read_single(members[SHOW], SHOW)
        if canonical_show(show) != members[SHOW]:
            problems.append(Problem(f"its {SHOW} is not canonical JSON", file, way_out=_AGAIN))
        if show.title != facts["title"]:
            problems.append(Problem(f"its {FACTS} and its {SHOW} name two productions", file, way_out=_AGAIN))
    except ShowError as error:
        problems += [problem.in_file(f"{file}: {problem.file}") for problem in error.problems]
    if problems or show is None:
        return Verdict(real, facts, show, tuple(problems))
    return Verdict(real, facts, show, doubts=_doubts(members, show, facts, file))


def _doubts(members: Mapping[str, bytes], show: Show, facts: dict[str, Any], file: str) -> tuple[Problem, ...]:
    drawn = {COVER: cover(show, facts), SHEETS: sheets(show, facts)}
    return tuple(
        Problem(
            f"its {name} is not what this showvc draws from its show: another version drew it, or it was changed",
            file,
            way_out=f"go by {SHOW}, not by {name}",
        )
        for name, text in drawn.items()
        if text.encode() != members[name]
    )
