"""All that is critical in the example show taken away, one at a time: each is told, and told with its edit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvc.changes import Effect, effect_of
from showvc.changes.caution import critical_targets
from showvc.document import LineUse, Show, target_of
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import join
from showvc.formats import read
from showvc.paths import talk_paths
from showvc.report.effect_words import effect_sections

SHOW = read(Path(__file__).parents[2] / "fixtures" / "salt-road")
PATHS = talk_paths(SHOW)
CRITICAL = critical_targets(SHOW)

Steps = tuple[str, ...]


def taken() -> Iterator[tuple[str, Steps, object]]:
    """What is taken away: its sort, its place, and what stands there then. Who is off headset has nothing to lose."""
    for name in SHOW.users:
        if PATHS.surely.is_on_headset(name):
            yield from of_a_list(name)
    for name, device in SHOW.devices.items():
        yield from (("key", ("devices", name, "keys", key), ABSENT) for key, to in device.keys.items() if critical(to))
        if device.user is not None and device.away is None and device.lent is None:
            yield "device", ("devices", name), ABSENT
    ties = Counter((bridge.circuit, bridge.target) for bridge in SHOW.bridges.values() if bridge.standby is None)
    for name, bridge in SHOW.bridges.items():  # where another ties the two as well, none alone takes a path away
        if bridge.standby is None and ties[bridge.circuit, bridge.target] == 1:
            yield "bridge", ("bridges", name), ABSENT
    yield from (("circuit", ("circuits", name), ABSENT) for name in SHOW.circuits)


def of_a_list(name: str) -> Iterator[tuple[str, Steps, object]]:
    user = SHOW.users[name]
    for channel, entry in user.channels.items():
        if critical(channel) and entry.listen != "none":
            yield "listen", ("users", name, "channels", channel, "listen"), "none"
        if critical(channel) and entry.talk != "none":
            yield "talk", ("users", name, "channels", channel, "talk"), "none"
    for line in CRITICAL & SHOW.lines.keys():
        use = user.lines.get(line, LineUse())
        if use.talk != "none":
            yield "raise", ("users", name, "lines", line, "talk"), "none"
        if use.listen != "none":
            yield "ear", ("users", name, "lines", line, "listen"), "none"


def critical(channel: str) -> bool:
    return target_of(channel) in CRITICAL


TAKEN = list(taken())


def effect(steps: Steps, value: object) -> tuple[Show, Effect]:
    after = put(SHOW, {steps: value})
    return after, effect_of(SHOW, after, PATHS)


def is_told(sort: str, steps: Steps, found: Effect) -> bool:
    """Whether it is told as what it is: a loss over the critical target, a key that is gone, somebody off headset."""
    if sort in ("listen", "ear"):
        target = steps[3] if sort == "ear" else target_of(steps[3])
        return any(loss[1:] == (target, steps[1]) for loss in found.lost_over)
    if sort in ("talk", "raise"):
        return any(loss[:2] == (steps[1], target_of(steps[3])) for loss in found.lost_over)
    if sort == "key":
        device = SHOW.devices[steps[1]]
        user, target = device.user, target_of(device.keys[steps[3]])
        kind = SHOW.kind(device.kind)
        if kind is not None and not kind.menu:
            return any(loss[:2] == (user, target) for loss in found.lost_over)
        return any(each[:2] == (user, target) and each[3] == "menu" for each in found.weaker)
    if sort == "device":
        return SHOW.devices[steps[1]].user in found.off_headset
    circuit = SHOW.bridges[steps[1]].circuit if sort == "bridge" else steps[1]
    return any(circuit in (loss[0], loss[-1]) for loss in (*found.lost, *found.lost_over))


def test_each_of_them_is_told_and_there_are_as_many_as_ever() -> None:
    untold = [join(*steps) for sort, steps, value in TAKEN if not is_told(sort, steps, effect(steps, value)[1])]
    assert untold == []
    counts = Counter(sort for sort, _, _ in TAKEN)
    assert counts.keys() == {"listen", "talk", "raise", "ear", "key", "device", "bridge", "circuit"}
    assert counts["listen"] >= 20 and counts["device"] >= 40 and counts["bridge"] >= 5, counts


@pytest.mark.parametrize("number", range(0, len(TAKEN), 17))
def test_the_edit_stands_beside_the_loss_in_words(number: int) -> None:
    _, steps, value = TAKEN[number]
    after, found = effect(steps, value)
    assert {edit for cause in found.because for edit in cause.edits} <= {join(*steps), join(*steps[:4])}
    first = effect_sections(SHOW, after, found)[0]
    assert first.grave or not found.critical_losses
    if found.losses:
        said = " ".join(line for section in effect_sections(SHOW, after, found) for line in section.lines)
        assert "/".join(steps[:2]) in said
