"""The story of the example show, beat by beat: what happens, who does it, and with which command."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from showvc.demo.production import BAD, DECK, FRONT_OF_HOUSE, GOOD_AFTER, STOPS, TITLE, Step, production
from showvc.document import Show

Change = Callable[[Show], Show]

DECK_ENGINEER, HOUSE_ENGINEER, TOURING_ENGINEER = DECK.who, FRONT_OF_HOUSE.who, STOPS[0].who


@dataclass(frozen=True, slots=True)
class Beat:
    """One moment of the story: a sentence, then perhaps an edit of the files by hand, then a command.

    `needs_a_person` says that the command is meant to end with exit code 1.
    """

    text: str
    who: str = TOURING_ENGINEER
    edit: Change | None = None
    command: tuple[str, ...] = ()
    needs_a_person: bool = False


@dataclass(frozen=True, slots=True)
class Chapter:
    title: str
    beats: tuple[Beat, ...]


def chapters() -> Iterator[Chapter]:
    """The whole story, in order."""
    yield Chapter("The show is plotted", tuple(_plot()))
    yield Chapter("Four towns", tuple(_tour()))
    yield Chapter("Two engineers edit at once", tuple(_parallel()))
    yield Chapter("What clashes is settled before anything is loaded", tuple(_settled()))
    yield Chapter("A bad edit is taken back, the good ones after it stay", tuple(_rollback()))


def _plot() -> Iterator[Beat]:
    yield Beat(
        f"{TITLE} goes on tour. Every position, group and device is plotted into files.", edit=lambda _: production()
    )
    yield _recorded(TOURING_ENGINEER, "First plot for the rehearsal room", "The first plot is recorded as a snapshot.")
    yield Beat("It gets a name.", command=("mark", "rehearsal"))


def _tour() -> Iterator[Beat]:
    for stop in STOPS:
        yield from _step(stop, f"The show moves on to {(stop.mark or '').capitalize()}, and the plot is adapted.")
        yield Beat("The stop gets its mark.", stop.who, command=("mark", stop.mark or ""))
    yield Beat("What changed on the way from Tarnhollow to Velmoor?", command=("compare", "tarnhollow", "velmoor"))


def _parallel() -> Iterator[Beat]:
    yield Beat(
        "The front-of-house engineer opens a draft of their own.", HOUSE_ENGINEER, command=("draft", "open", "house")
    )
    yield from _step(
        FRONT_OF_HOUSE, "They tidy the stage manager's panel: the rail hears the stage manager on CUE anyhow."
    )
    yield Beat("Meanwhile on the deck:", DECK_ENGINEER, command=("draft", "go", "main"))
    yield from _step(DECK, "The rail is taken off CUE: it hears every cue on FLY anyhow.")
    yield Beat(
        "Each edit is harmless alone. Put together, the stage manager would lose the fly rail:",
        DECK_ENGINEER,
        command=("merge", "house"),
        needs_a_person=True,
    )


def _settled() -> Iterator[Beat]:
    deck = DECK_ENGINEER
    yield Beat("Where do I stand?", deck, command=("now",), needs_a_person=True)
    yield Beat("The house radio was plotted twice; it becomes one group.", deck, command=_UNIFY, needs_a_person=True)
    yield Beat("The deputy's talk: the other side was right.", deck, None, ("settle", "1", "--take", "incoming"), True)
    yield Beat("Security goes to a free channel.", deck, None, ("settle", "3", "--value", "19"), True)
    yield Beat("The stage manager stays on FLY. That was the last one:", deck, None, ("settle", "2", "--take", "mine"))
    yield Beat("SM is heard on the rail, but SEC has taken the key of FLY. That is mended:", deck, command=_KEY)
    yield Beat("", deck, command=_SPARE_KEY)
    yield Beat("", deck, command=("record", "--note", "FLY back under a key of the stage manager"))


_UNIFY = ("settle", "--unify", "groups/house-radio=groups/radio-house")
_KEY = ("set", "devices/unit-sm/keys/A1", "fly")
_SPARE_KEY = ("set", "devices/unit-sm/keys/B15", "sec")


def _rollback() -> Iterator[Beat]:
    yield from _step(BAD, "A hurried tidy-up, an hour before doors.")
    for good in GOOD_AFTER:
        yield from _step(good, "Good work goes on after it.")
    yield Beat("The check before the release finds it:", DECK_ENGINEER, command=("check",), needs_a_person=True)
    yield Beat("Which snapshot was it?", DECK_ENGINEER, command=("trace", "users/pyro-watch/channels/pyro/talk"))
    yield Beat("That one edit is taken back.", DECK_ENGINEER, command=("rollback", "last-2"))
    yield Beat("And the show is fit again.", DECK_ENGINEER, command=("check",))
    yield Beat("The whole story:", DECK_ENGINEER, command=("history",))


def _step(step: Step, text: str) -> Iterator[Beat]:
    yield Beat(text, step.who, edit=step.change)
    yield Beat("", step.who, command=("record", "--note", step.note))


def _recorded(who: str, note: str, text: str) -> Beat:
    return Beat(text, who, command=("record", "--note", note))


NEXT = (
    ("who hears the stage manager, and why", "showvc paths sm"),
    ("why the fly rail hears the stage manager", "showvc paths sm fly-1"),
    ("an edit of your own", "showvc set users/sm/channels/fly/talk latch"),
    ("what it does to whom", "showvc compare"),
    ("and stepping back over it", "showvc undo"),
)
"""What a newcomer may try, each with its command."""
