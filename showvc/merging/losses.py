"""What both sides had and the two together take: somebody's headset, and paths over what is critical."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from showvc.changes import Folder, Loss
from showvc.changes.caution import critical_targets
from showvc.changes.folding import CAN_NO_LONGER
from showvc.merging.combined import behind
from showvc.paths import Difference, Pair, lost_by_both, spoken
from showvc.rules import Clash, Found, Rule, Scene


@dataclass(frozen=True, slots=True)
class LossRule(Rule):
    """A rule that finds what the two together lose. Of each find the key is the loss, and the places are the edits of
    both sides that make it.
    """

    fold: Callable[[Scene, Iterable[Loss]], list[str]] = lambda _scene, _losses: []
    """Many losses in few sentences."""


Against = Callable[[Scene], tuple[Difference, Difference]]
"""What differs in a show from mine, and from incoming."""


def loss_rules(mine: Scene, incoming: Scene, from_both: Against) -> tuple[LossRule, LossRule]:
    """What each side still had: every headset, and every path over a group or line that is critical on a side."""

    def off(scene: Scene) -> Iterator[Found]:
        if scene not in (mine, incoming):
            one, other = from_both(scene)
            gone = set(other.off_headset)
            yield from _found(mine, incoming, scene, [(user,) for user in one.off_headset if user in gone])

    def lost(scene: Scene) -> Iterator[Found]:
        critical = critical_targets(mine.show) | critical_targets(incoming.show)
        if critical and scene not in (mine, incoming):
            yield from _found(mine, incoming, scene, lost_by_both(*from_both(scene), critical))

    return (
        _rule("off-headset", "the position hears nobody, and nobody hears it", off, _is_off, _off_words),
        _rule("path-lost", "a stop is called and not heard by all", lost, _is_lost, _lost_words(mine)),
    )


def _rule(
    clash: Clash,
    why: str,
    look: Callable[[Scene], Iterator[Found]],
    again: Callable[[Scene, Found], bool],
    fold: Callable[[Scene, Iterable[Loss]], list[str]],
) -> LossRule:
    return LossRule(clash, "warning", why, "take one of the two edits back", look, clash, again, None, fold)


def _found(mine: Scene, incoming: Scene, scene: Scene, losses: Iterable[Loss]) -> Iterator[Found]:
    for cause in behind(mine.paths, scene.paths, incoming.paths, losses):
        yield Found(cause.edits, cause.loss, cause.loss)


def _is_off(scene: Scene, found: Found) -> bool:
    return not scene.paths.surely.is_on_headset(found.key[0])


def _is_lost(scene: Scene, found: Found) -> bool:
    talker, target, listener = found.key
    return not scene.paths.surely.holds(talker, listener, target)


def _off_words(scene: Scene, losses: Iterable[Loss]) -> list[str]:
    return [f"{spoken(scene.show, user)} has no headset; both sides left one" for (user,) in losses]


def _lost_words(mine: Scene) -> Callable[[Scene, Iterable[Loss]], list[str]]:
    def words(scene: Scene, losses: Iterable[Loss]) -> list[str]:
        folder, over = Folder(mine.paths, scene.paths), defaultdict[str, list[Pair]](list)
        for talker, target, listener in losses:
            over[target].append((talker, listener))
        return [
            line
            for target, pairs in over.items()
            for line in folder.lines(pairs, CAN_NO_LONGER, f" {folder.on(target)}; on both sides they could")
        ]

    return words
