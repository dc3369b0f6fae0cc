"""What runs out: which carriers cannot hold what hangs on them, and whose paths are unsure for it.

With none or any one alternative out, each carrier must hold what can hang nowhere else: the devices that stand, and
would not without it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set

from showvc.paths.facts import SURELY, Facts, On, carried_by, standing_carriers, standing_devices


def over_full(facts: Facts) -> frozenset[tuple[str, str]]:
    """The carriers that cannot hold what hangs on them, each with the word of what runs out."""
    givers = {name: body.gives for name, body in facts.carriers.items() if body.gives}
    short = {name: gives for name, gives in givers.items() if any(_may_run_out(facts, gives))}
    if not short:
        return frozenset()
    alternatives = sorted({one for on in _hung(facts) for each in on if not isinstance(each, str) for one in each})
    outs = [facts.out, *(facts.out | {f"carriers/{each}"} for each in alternatives)]
    return frozenset(found for out in outs for found in _over(facts, short, facts.without(out)))


def _may_run_out(facts: Facts, gives: Mapping[str, float]) -> Iterator[str]:
    """The words of which all devices together need more than is given."""
    for word, amount in gives.items():
        if sum(_needs(facts, name, word) for name in facts.devices) > amount:
            yield word


def _over(facts: Facts, givers: Mapping[str, Mapping[str, float]], then: Facts) -> Iterator[tuple[str, str]]:
    standing = standing_devices(then, SURELY)
    for carrier, gives in givers.items():
        hung = standing - standing_devices(then.without(then.out | {f"carriers/{carrier}"}), SURELY)
        for word, amount in gives.items():
            if sum(_needs(facts, name, word) for name in hung) > amount:
                yield carrier, word


def _needs(facts: Facts, device: str, word: str) -> float:
    kind = facts.kind(facts.devices[device])
    return kind.needs.get(word, 0) if kind is not None else 0


def _hung(facts: Facts) -> Iterator[On]:
    yield from (body.on for body in facts.devices.values())
    yield from (body.on for body in facts.carriers.values())


def sure_devices(facts: Facts) -> Set[str]:
    """The devices that hang on no over-full carrier; where there are alternatives, on one that is not."""
    full = {carrier for carrier, _ in over_full(facts)}
    if not full:
        return facts.devices.keys()
    up = standing_carriers(facts, SURELY)
    good = {name for name in facts.carriers if name in up} - full
    while bad := {name for name in good if not carried_by(good, facts.carriers[name].on)}:
        good -= bad
    return {name for name, body in facts.devices.items() if carried_by(good, body.on)}
