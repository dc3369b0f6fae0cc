"""Why one hears another: every target over which a pair holds, hop by hop."""

from __future__ import annotations

from hypothesis import given

from showvc.paths import SURE, Doubt, Paths, Way, explain, explanation_text, ways
from showvc.paths.ways import held_over
from tests.paths.oracle.building import bridge, circuit, port, show, user
from tests.paths.oracle.shows import broken_documents, documents
from tests.paths.oracle.there import Doc
from tests.paths.ours import paths_of


def steps(way: Way) -> list[str]:
    return [f"{hop.step} {hop.bridge or hop.target}" for hop in way.hops]


def _is_a_way(paths: Paths, way: Way, talker: str, listener: str) -> None:
    first, last = way.hops[0], way.hops[-1]
    assert (first.user or first.circuit) == talker
    assert first.target == way.target
    assert (last.user or last.circuit) == listener
    assert last.step in ("hear", "end", "in")
    assert min(hop.tier for hop in way.hops) >= way.tier
    circuits = [hop.circuit for hop in way.hops if hop.step in ("out", "in")]
    carried = list(zip(way.hops, way.hops[1:], strict=False))
    assert all(one.circuit == other.circuit for one, other in carried if one.step == "out" and other.step == "in")
    assert all(one.bridge != other.bridge for one, other in carried if one.bridge and other.bridge)
    assert all(name in paths.facts.circuits for name in circuits)


def _agree(doc: Doc) -> None:
    paths = paths_of(doc)
    for read in (paths.surely, paths.unwritten, paths.possibly):
        for talker in read.positions:
            for listener in read.positions:
                if talker == listener:
                    continue
                found = ways(paths, talker, listener, read)
                held = {target: (hand, tier) for target, hand, tier in held_over(read, talker, listener)}
                assert {way.target: (way.hand, way.tier) for way in found} == held
                for way in found:
                    _is_a_way(paths, way, talker, listener)
                    surely = paths.surely.holds(talker, listener, way.target)
                    assert not way.doubts if read is paths.surely else (surely or way.doubts)


@given(documents)
def test_there_is_a_way_over_each_target_that_holds_and_over_no_other(doc: Doc) -> None:
    _agree(doc)


@given(broken_documents)
def test_also_where_what_is_pointed_at_is_not_there(doc: Doc) -> None:
    _agree(doc)


SM, FLY = user("sm", "fly:mn", "cue:mn", "fly-1:mn"), user("fly-1", "fly:na", "cue:ns")


def test_every_target_is_told_the_surest_first() -> None:
    found = explain(paths_of(show(SM, FLY)), "sm", "fly-1")
    assert [(way.target, way.hand, way.sure) for way in found.ways] == [
        ("fly", "key", True),
        ("fly-1", "key", True),
        ("cue", "key", False),
    ]
    assert found.holds
    assert not found.proposals


def test_a_way_over_a_circuit_goes_out_and_in_and_is_as_sure_as_its_weakest_hop() -> None:
    doc = show(
        user("sm", "fly:mn"), user("a", "cue:na"), circuit("house", "hsc"),
        bridge("b1", "fly", "house"), bridge("b2", "cue", "house"),
    )  # fmt: skip
    (way,) = ways(paths_of(doc), "sm", "a")
    assert steps(way) == ["talk fly", "out b1", "in b2", "hear cue"]
    assert way.sure
    (way,) = ways(paths_of(show(doc, {"circuits": {"house": {"one-at-a-time": True}}})), "sm", "a")
    assert [hop.tier for hop in way.hops] == [SURE, 0, 0, SURE]
    assert not way.sure


def test_a_port_listens_and_speaks_in_the_hops_of_its_bridges() -> None:
    doc = show(
        user("sm", "fly:mn"), port("box", "fly:na", "cue:on"), user("a", "cue:na"),
        circuit("truck", "hsc"), bridge("b1", "box", "truck", "out"), bridge("b2", "cue", "truck", "in"),
    )  # fmt: skip
    (way,) = ways(paths_of(doc), "sm", "truck")
    assert steps(way) == ["talk fly", "out b1", "end truck"]
    assert way.hops[1].port == "box"
    (way,) = ways(paths_of(doc), "truck", "a")
    assert steps(way) == ["in b2", "hear cue"]


def test_what_may_be_names_all_that_has_to_be_true() -> None:
    doc = show(user("sm", "fly:mn"), user("a", "cue:na", worn=False), circuit("house"),
               bridge("b1", "fly", "house"), bridge("b2", "cue", "house", away="at repair"))  # fmt: skip
    found = explain(paths_of(doc), "sm", "a")
    assert not found.holds
    assert set(found.doubts) == {Doubt("carries", "house"), Doubt("bridge", "b2"), Doubt("user", "a")}


def test_a_path_over_a_line_is_told_apart_from_those_that_count() -> None:
    doc = show(user("sm", "!alarm:m-"), user("a", "fly:na"), {"lines": {"alarm": {}}})
    found = explain(paths_of(doc), "sm", "a")
    assert not found.holds
    assert [way.target for way in found.line_ways] == ["alarm"]


def test_the_words_begin_with_the_verdict_and_say_what_a_path_does_not_know() -> None:
    paths = paths_of(show(SM, FLY))
    first, *_, last = explanation_text(paths.show, explain(paths, "sm", "fly-1")).splitlines()
    assert first == "fly-1 hears sm, on a key, sure:"
    assert "no battery" in last
    first, *_ = explanation_text(paths.show, explain(paths, "fly-1", "sm")).splitlines()
    assert first == "sm can't hear fly-1."
