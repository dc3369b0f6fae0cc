"""The findings against the reference of who hears whom, which was written apart and walks its graphs with networkx.

What the reference says of required paths, paths apart, public circuits, rings and carriers has to be among the findings,
with its severity, and nothing else may be.
"""

from __future__ import annotations

from collections.abc import Iterable

from hypothesis import HealthCheck, given, settings

from showvc.document import Show, show_from_tree
from showvc.document.pointers import parse
from showvc.rules import Finding, check, rule
from showvc.rules.finding import Scene
from tests.paths.oracle import capacity, ends, rings
from tests.paths.oracle.shows import broken_documents, documents
from tests.paths.oracle.there import Doc, off_headset

STATES = {
    "lost": "required-lost",
    "in doubt": "required-in-doubt",
    "menu only": "required-in-menu",
    "unsure": "required-unsure",
}
a_law = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def show_of(doc: Doc) -> Show:
    return show_from_tree({"format": 2, **doc})


def at(findings: Iterable[Finding], code: str, severity: str) -> list[str]:
    """The ids at which a rule finds something."""
    return sorted(parse(each.path)[1] for each in findings if (each.code, each.severity) == (code, severity))


def facts(show: Show, code: str) -> set[tuple[str, ...]]:
    """The words by which a rule tells what it finds at one place apart."""
    return {(parse(found.paths[0])[1], *found.key) for found in rule(code).look(Scene(show))}


@a_law
@given(documents)
def test_required_paths(doc: Doc) -> None:
    findings, wanted = check(show_of(doc)), ends.required(doc)
    for state, code in STATES.items():
        names = sorted(name for name, found in wanted.items() if found.state == state)
        held = {name for name, found in wanted.items() if found.state == "fragile"}
        assert [name for name in at(findings, code, rule(code).severity) if name not in held] == names, state
    assert rule("required-lost").severity == "block"


@a_law
@given(documents)
def test_paths_apart(doc: Doc) -> None:
    show, wanted = show_of(doc), ends.apart(doc)
    assert facts(show, "overheard") == {(name, *pair) for name, found in wanted.items() for pair in found.surely}
    assert facts(show, "maybe-overheard") == {
        (name, *pair) for name, found in wanted.items() for pair in found.only_possibly
    }
    assert at(check(show), "apart-of-nobody", "warning") == sorted(
        name for name, found in wanted.items() if found.empty
    )


@a_law
@given(documents)
def test_what_is_both_required_and_apart(doc: Doc) -> None:
    found = {
        (must, never, tuple(pair))
        for each in rule("required-and-apart").look(Scene(show_of(doc)))
        for never, must, pairs in [each.facts]
        for pair in pairs
    }
    assert found == ends.contradictions(doc)


@a_law
@given(documents)
def test_public_circuits(doc: Doc) -> None:
    show = show_of(doc)
    found: dict[tuple[str, str, str], str] = {}
    for code, severity in (("maybe-to-public", "warning"), ("open-to-public", "block")):
        for each in rule(code).look(Scene(show)):
            user, channel, circuit, *_ = each.facts
            found[user, channel.partition("#")[0], circuit] = severity
    assert found == {(leak.talker, leak.target, leak.circuit): leak.severity for leak in ends.public(doc)}


@a_law
@given(documents)
def test_rings(doc: Doc) -> None:
    scene = Scene(show_of(doc))
    surely, maybe = (
        {frozenset(parse(path)[1] for path in found.paths) for found in rule(code).look(scene)}
        for code in ("ring", "maybe-ring")
    )
    there, possible = rings.rings(doc), rings.possible_rings(doc)
    assert surely <= there
    assert len(surely) == len(rings.independent(there))
    assert maybe <= possible
    assert len(rings.independent(surely | maybe)) == len(rings.independent(there | possible))


@a_law
@given(documents)
def test_carriers(doc: Doc) -> None:
    found = {each.facts[:2] for each in rule("over-capacity").look(Scene(show_of(doc)))}
    assert found == capacity.over_full(doc)


@a_law
@given(documents)
def test_who_is_off_headset(doc: Doc) -> None:
    findings = check(show_of(doc))
    told = {parse(each.path)[1] for each in findings if each.code in ("user-without-device", "off-headset")}
    assert told == off_headset(doc)


@a_law
@given(broken_documents)
def test_no_path_that_is_lost_is_without_a_block_however_broken_the_show(doc: Doc) -> None:
    """Where a required path points at nothing, that is told in place of the loss: a block as well."""
    findings = check(show_of(doc))
    told = {parse(each.path)[1] for each in findings if each.code in ("required-lost", "required-to-nothing")}
    assert {name for name, found in ends.required(doc).items() if found.state == "lost"} <= told
    assert all(each.severity == "block" for each in findings if each.code in ("required-lost", "required-to-nothing"))
