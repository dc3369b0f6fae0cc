"""What edits do to people, in titled sentences, the gravest first."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

from showvc.changes import Cause, Comparison, Effect, Folder, RequiredChange
from showvc.changes.caution import CAUTION, critical_touched
from showvc.changes.folding import CAN_NO_LONGER, CAN_NOW, HEARS, listed
from showvc.document import Show
from showvc.document.editing import ABSENT, put
from showvc.document.lining import counted
from showvc.document.pointers import parse
from showvc.paths import ANY, Over, Pair, Proposal, asked_words, end_words, required_words

UNHEARD = "No path is lost, gained or weaker, and no label strip needs reprinting."
_MOST_LINES = 25
_MOST_NAMED = 4
_MOST_WAYS = 3


@dataclass(frozen=True, slots=True)
class Section:
    """One sort of effect in sentences. A `grave` one is a loss that must not be overlooked."""

    title: str
    lines: tuple[str, ...]
    grave: bool = False

    def begun(self) -> Section:
        """With `All 6 …` where a line begins so; labels stay as they are."""
        return replace(self, lines=tuple(re.sub("^all (?=[0-9])", "All ", line) for line in self.lines))


def effect_sections(
    before: Show, after: Show, effect: Effect, engineers: Mapping[str, str] = MappingProxyType({})
) -> list[Section]:
    """What edits do to people: who is off headset first, then required paths, then what is lost, the gravest on top.

    Empty sorts are left out. `engineers`: who made the edit at a pointer, to be named beside it.
    """
    del before, after  # the effect knows both
    return [section.begun() for section in _Words(effect, engineers).sections() if section.lines]


def unheard(found: Comparison) -> list[str]:
    """What is said of edits without an effect."""
    return [UNHEARD] if found.changes else []


def caution_line(before: Show, after: Show, effect: Effect) -> str | None:
    """The critical groups and lines that edits touch; the whole caution where a path over one is lost."""
    touched = effect.critical_touched
    if not touched:
        return None
    labels = ", ".join((after if after.target(name) is not None else before).label(name) for name in touched)
    named = f"Critical groups affected: {labels}."
    return f"{named} {CAUTION}" if effect.critical_losses or effect.off_headset else named


def proposed_caution(show: Show, proposals: Iterable[Proposal]) -> str | None:
    """The critical groups and lines that proposed edits would touch: trust in a proposal is high there."""
    touched: set[str] = set()
    for proposal in proposals:
        done = put(show, {parse(edit.pointer): ABSENT if edit.value is None else edit.value for edit in proposal})
        touched |= {*critical_touched(show, done)}
    return f"{_affected(show, sorted(touched))} {CAUTION}" if touched else None


def _affected(show: Show, names: Iterable[str]) -> str:
    return f"Critical groups affected: {', '.join(map(show.label, names))}."


# --- required paths --------------------------------------------------------------------------------------------------

_STATES = ("lost", "in doubt", "menu only", "unsure", None, "met")


def required_line(before: Show, after: Show, change: RequiredChange) -> str:
    """What became of a required path, in a sentence."""
    if change.after is None:
        assert change.before is not None, "it was required, or is"
        return f"no longer required: {asked_words(before, change.before)}"
    lost = "LOST: " if change.after.state == "lost" else ""
    return f"{lost}{required_words(after, change.after)}; {_former(change)}"


def _former(change: RequiredChange) -> str:
    if change.before is None:
        return "newly required"
    if change.after is not None and change.before.state == change.after.state:
        return "asked for otherwise before"
    return f"{change.before.state} before"


def _worst_first(changes: Iterable[RequiredChange]) -> list[RequiredChange]:
    return sorted(changes, key=lambda change: (_STATES.index(change.after and change.after.state), change.name))


# --- the sections ----------------------------------------------------------------------------------------------------

_WEAKER = {
    "menu": "Now menu only, no key",
    "page": "Now on a key of another page",
    "ear": "Now unsure, was sure",
    "level": "Now unsure: level too low",
}


class _Words:
    def __init__(self, effect: Effect, engineers: Mapping[str, str]) -> None:
        self.effect, self.engineers = effect, engineers
        self.folder = Folder(*effect.paths)
        self.off = set(effect.off_headset)
        self.causes: Mapping[tuple[str, ...], Cause] = {cause.loss: cause for cause in effect.because}

    def sections(self) -> Iterator[Section]:
        effect = self.effect
        yield Section("Off headset", tuple(self._off_headset()), grave=True)
        lost = [change for change in effect.required if change.after is not None and change.after.state == "lost"]
        yield Section("Required paths lost", tuple(self._required(lost)), grave=True)
        critical = [loss for loss in effect.critical_losses if not self._is_off(loss)]
        yield Section("Lost on critical groups and lines", tuple(self._losses(critical)), grave=True)
        others = [loss for loss in effect.lost_over if loss[1] not in effect.critical and not self._is_off(loss)]
        on_lines = all(loss[1] in effect.before.lines for loss in others)
        yield Section("Lost on lines" if on_lines else "Lost on other targets", tuple(self._losses(others)))
        both = (*critical, *others)
        told = {(talker, listener) for talker, target, listener in both if target not in effect.before.lines}
        left = [pair for pair in effect.lost if pair not in told and not self._is_off(pair)]
        yield Section("Also lost" if told or self.off else "Lost", tuple(self._pairs(left)))
        others_required = [change for change in effect.required if change not in lost]
        yield Section("Required paths", (*self._required(others_required), *self._members()))
        yield from self._weaker()
        yield Section("Overheard", tuple(self._overheard()), grave=True)
        yield Section("Gained", tuple(self._gained()))
        yield Section("Limits passed", tuple(each.words for each in effect.crossed), grave=True)
        yield Section("New label strips", (", ".join(effect.strips),) if effect.strips else ())

    def _is_off(self, loss: Sequence[str]) -> bool:
        return loss[0] in self.off or loss[-1] in self.off

    # --- off headset ---

    def _off_headset(self) -> Iterator[str]:
        if len(self.off) > _MOST_LINES:
            yield f"{self.folder.words(self.off)} are off headset{self._edits((name,) for name in sorted(self.off))}"
            return
        for name in self.effect.off_headset:
            user = self.folder.label(name)
            state = "is off headset" if name in self.effect.after.users else "is removed"
            yield f"{user} {state}{self._cut_off(name, user)}{self._edits([(name,)])}"

    def _cut_off(self, name: str, user: str) -> str:
        hearing = [listener for talker, listener in self.effect.lost if talker == name]
        heard = [talker for talker, listener in self.effect.lost if listener == name]
        over = {target for talker, target, listener in self.effect.critical_losses if name in (talker, listener)}
        said = [f"{self._some(hearing)} can no longer hear {user}"] if hearing else []
        said += [f"{user} can no longer hear {self._some(heard)}"] if heard else []
        critical = (
            f"; critical: {listed([self.folder.on(target).removeprefix('on ') for target in sorted(over)])}"
            if over
            else ""
        )
        return f": {', '.join(said)}{critical}" if said or critical else ""

    def _some(self, names: list[str]) -> str:
        return self.folder.words(names) if len(names) <= _MOST_NAMED else f"{len(names)} positions"

    # --- required ---

    def _required(self, changes: Iterable[RequiredChange]) -> Iterator[str]:
        for change in _worst_first(changes):
            yield required_line(self.effect.before, self.effect.after, change)

    def _members(self) -> Iterator[str]:
        after = self.effect.after
        left: dict[str, list[str]] = defaultdict(list)
        for name, who in self.effect.members:
            left[name].append(who)
        for name, gone in left.items():
            asked = after.required[name]
            ends = f"{end_words(after, asked.from_)} -> {end_words(after, asked.to)}"
            have = "have" if len(gone) > 1 else "has"
            yield f"{self.folder.words(gone)} {have} left an end of required path {name} ({ends})"

    # --- lost over a target ---

    def _losses(self, losses: Iterable[Over]) -> Iterator[str]:
        by_target: dict[str, list[Over]] = defaultdict(list)
        for loss in losses:
            by_target[loss[1]].append(loss)
        lines = [line for target, found in by_target.items() for line in self._over(target, found)]
        yield from lines[:_MOST_LINES]
        if len(lines) > _MOST_LINES:
            yield f"and {counted(len(lines) - _MOST_LINES, 'more sentence')}: --json has every loss"

    def _over(self, target: str, losses: list[Over]) -> Iterator[str]:
        on, left = self.folder.on(target), losses
        deaf, left = self._split(left, 2, lambda who: not self._still_hears(who, target))
        for listeners, found in self._alike(deaf, own=2, other=0):
            who = self.folder.words(listeners)
            more = self._still_heard(listeners, found)
            yield f"{who} can no longer hear anyone {on}{more}{self._edits(found)}"
        mute, left = self._split(left, 0, lambda who: not self._still_talks(who, target))
        for talkers, found in self._alike(mute, own=0, other=2):
            more = self._still_hearing(talkers, found)
            yield f"{self.folder.words(talkers)} can no longer talk {on}{more}{self._edits(found)}"
        alike: dict[tuple[tuple[str, ...], str | None], list[Over]] = defaultdict(list)
        for loss in left:
            alike[self.causes[loss].edits, self._best(loss)].append(loss)
        for (_, best), found in alike.items():
            pairs = [(talker, listener) for talker, _, listener in found]
            way = f"; still {self.folder.on(best)}" if best else ", nor any other way"
            yield from self.folder.lines(pairs, CAN_NO_LONGER, f" {on}{way}{self._edits(found)}")

    @staticmethod
    def _split(losses: list[Over], at: int, whole: Callable[[str], bool]) -> tuple[list[Over], list[Over]]:
        known = {name: whole(name) for name in {loss[at] for loss in losses}}
        return [loss for loss in losses if known[loss[at]]], [loss for loss in losses if not known[loss[at]]]

    def _still_hears(self, listener: str, target: str) -> bool:
        now = self.effect.paths[1]
        slot = now.lists.place.get(listener)
        return slot is not None and bool(now.surely.reach(ANY).get(target, 0) >> slot & 1)

    def _still_talks(self, talker: str, target: str) -> bool:
        now = self.effect.paths[1].surely
        return talker in now.lists.place and target in now.hands(talker)

    def _best(self, loss: Over) -> str | None:
        remains = self.causes[loss].remains
        return remains[0] if remains else None

    def _alike(self, losses: list[Over], own: int, other: int) -> Iterator[tuple[list[str], list[Over]]]:
        """Those who lost the same, by the same edits, and all of their losses."""
        of: dict[str, list[Over]] = defaultdict(list)
        for loss in losses:
            of[loss[own]].append(loss)
        alike: dict[object, list[str]] = defaultdict(list)
        for name, found in of.items():
            edits = frozenset(edit for loss in found for edit in self.causes[loss].edits)
            rest = frozenset((loss[other], self._best(loss)) for loss in found if self._best(loss))
            alike[edits, rest].append(name)
        for names in alike.values():
            yield names, [loss for name in names for loss in of[name]]

    def _ways(self, losses: list[Over], other: int) -> Iterator[tuple[str | None, list[str]]]:
        """Those who still hear or are heard, by the best way that is left; None: by no way. Many ways are one."""
        by: dict[str, set[str]] = defaultdict(set)
        for loss in losses:
            best = self._best(loss)
            by[self.folder.on(best) if best else ""].add(loss[other])
        gone = by.pop("", set())
        if len(by) > _MOST_WAYS:
            yield "another way", sorted(set().union(*by.values()))
        else:
            yield from ((way, sorted(by[way])) for way in sorted(by))
        if gone:
            yield None, sorted(gone)

    def _still_heard(self, listeners: list[str], losses: list[Over]) -> str:
        hears = HEARS.many if len(listeners) > 1 else HEARS.one
        said = []
        for way, names in self._ways(losses, 0):
            others = [name for name in names if name not in listeners]
            whom = self.folder.words(others, talking=True) if others else ""
            if len(others) < len(names):
                whom = f"{whom} and each other" if whom else "each other"
            said.append(f"; still {hears} {whom} {way}" if way else f"; {hears} {whom} no other way")
        return "".join(said)

    def _still_hearing(self, talkers: list[str], losses: list[Over]) -> str:
        whom, said = self.folder.words(talkers), []
        for way, names in self._ways(losses, 2):
            who = self.folder.words(names, talking=False)
            hear = HEARS.many if len(names) > 1 else HEARS.one
            said.append(f"; {who} still {hear} {whom} {way}" if way else f"; {who} {hear} {whom} no other way")
        return "".join(said)

    # --- pairs, and what is worse or better ---

    def _pairs(self, pairs: Iterable[Pair]) -> Iterator[str]:
        alike: dict[tuple[str, ...], list[Pair]] = defaultdict(list)
        for pair in pairs:
            alike[self.causes[pair].edits].append(pair)
        lines = [
            line
            for found in sorted(alike.values(), key=lambda found: -len(found))
            for line in self.folder.lines(found, CAN_NO_LONGER, self._edits(found))
        ]
        yield from lines[:_MOST_LINES]
        if len(lines) > _MOST_LINES:
            yield f"and {counted(len(lines) - _MOST_LINES, 'more sentence')}: --json has every loss"

    def _weaker(self) -> Iterator[Section]:
        over: dict[tuple[str, str | None], list[Pair]] = defaultdict(list)
        for talker, target, listener, facet in self.effect.weaker:
            over[facet, target].append((talker, listener))
        for kind, title in _WEAKER.items():
            told = {pair for (each, target), pairs in over.items() if each == kind and target for pair in pairs}
            lines: list[str] = []
            for (each, target), pairs in over.items():
                if each == kind:
                    left = pairs if target else [pair for pair in pairs if pair not in told]
                    lines += self.folder.lines(left, HEARS, f" {self.folder.on(target)}" if target else "")
            critical = self.effect.critical
            yield Section(title, tuple(lines), any(each == kind and target in critical for each, target in over))

    def _overheard(self) -> Iterator[str]:
        for talker, listener, apart in self.effect.overheard:
            who, whom = self.folder.label(listener), self.folder.label(talker)
            if apart is None:
                yield f"Public circuit {who} hears {whom}: the microphone is open"
            else:
                why = self.effect.after.head.apart[apart].why
                yield f"{who} hears {whom}, and must not (apart {apart}{f': {why}' if why else ''})"

    def _gained(self) -> Iterator[str]:
        back = [name for name in self.effect.back_on_headset if name in self.effect.before.users]
        if back:
            yield f"{self.folder.words(back)} {'are' if len(back) > 1 else 'is'} on headset again"
        yield from self.folder.lines(self.effect.gained, CAN_NOW)
        over: dict[str, list[Pair]] = defaultdict(list)
        for talker, target, listener in self.effect.gained_over:
            if (talker, listener) not in self._gained_pairs or target in self.effect.after.lines:
                over[target].append((talker, listener))
        for target, pairs in over.items():
            yield from self.folder.lines(pairs, CAN_NOW, f" {self.folder.on(target)}")

    @cached_property
    def _gained_pairs(self) -> frozenset[Pair]:
        return frozenset(self.effect.gained)

    # --- the edits ---

    def _edit(self, pointer: str) -> str:
        who = self.engineers.get(pointer)
        return pointer.removeprefix("/") + (f" by {who}" if who else "")

    def _edits(self, losses: Iterable[tuple[str, ...]]) -> str:
        """The edits that bring these losses: `(edit: users/sm/channels/fly/listen)`."""
        causes = [self.causes[loss] for loss in losses]
        edits = list(dict.fromkeys(self._edit(edit) for cause in causes for edit in cause.edits))
        if not edits:
            return ""
        more = f" and {len(edits) - _MOST_NAMED} more" if len(edits) > _MOST_NAMED else ""
        named = ", ".join(edits[:_MOST_NAMED]) + more if more else listed(edits)
        together = any(len(cause.edits) > 1 for cause in causes)
        head = "edit" if len(edits) == 1 else "edits together" if together else "edits"
        doubt = "" if all(cause.fewest for cause in causes) else ", perhaps not all of them needed"
        return f" ({head}: {named}{doubt})"
