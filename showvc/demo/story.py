"""The story of the example show, beat by beat: what happens, who does it, and with which command."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from showvc.demo.plot import TITLE
from showvc.demo.production import production
from showvc.demo.tour import BAD, DECK, FRONT_OF_HOUSE, GOOD_AFTER, STOPS, Step
from showvc.document import Show

Change = Callable[[Show], Show]


@dataclass(frozen=True, slots=True)
class CodeOf:
    """The code of a snapshot, which is known only when the story is played: `last-2` stands for it here."""

    source: str


Word = str | CodeOf

DECK_ENGINEER, HOUSE_ENGINEER, TOURING_ENGINEER = DECK.who, FRONT_OF_HOUSE.who, STOPS[0].who


@dataclass(frozen=True, slots=True)
class Beat:
    """One moment of the story: a sentence, then perhaps an edit of the files by hand, then a command.

    `needs_a_person` says that the command is meant to end with exit code 1.
    """

    text: str
    who: str = TOURING_ENGINEER
    edit: Change | None = None
    command: tuple[Word, ...] = ()
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
        f"{TITLE} goes on tour. Each position, group and device, and each circuit with the people behind it, is "
        "plotted into a file of its own.",
        edit=lambda _: production(),
    )
    yield _recorded(TOURING_ENGINEER, "First plot for the rehearsal room", "The first plot is recorded as a snapshot.")
    yield Beat("It gets a name.", command=("mark", "rehearsal"))


def _tour() -> Iterator[Beat]:
    for stop in STOPS:
        yield from _step(stop, f"The show moves on to {(stop.mark or '').capitalize()}, and the plot is adapted.")
        yield Beat("", stop.who, command=("mark", stop.mark or ""))
    yield Beat(
        "What changed on the way from Tarnhollow to Velmoor? First what it does to those on headset, then the edits:",
        command=("compare", "tarnhollow", "velmoor"),
    )
    yield Beat(
        "In Velmoor no cable went to the house: both ways to the recording truck ended on one switch. Had it failed:",
        command=("paths", "sm", "recording-truck", "--of", "velmoor", "--without", "deck-switch"),
        needs_a_person=True,
    )


def _parallel() -> Iterator[Beat]:
    yield Beat(
        "The front-of-house engineer opens a draft of their own.", HOUSE_ENGINEER, command=("draft", "open", "house")
    )
    yield Beat(
        "They take FLY off the stage manager's panel: the rail hears the stage manager on CUE anyhow. That second way "
        "would hide the loss; the comparison tells it all the same:",
        HOUSE_ENGINEER,
        edit=FRONT_OF_HOUSE.change,
        command=("compare",),
    )
    yield _recorded(HOUSE_ENGINEER, FRONT_OF_HOUSE.note, "Nothing required is lost, so it is recorded.")
    yield Beat("Meanwhile, on the deck, from the same snapshot:", DECK_ENGINEER, command=("draft", "go", "main"))
    yield from _step(DECK, "The rail is taken off CUE: it hears every cue on FLY anyhow.")
    yield Beat(
        "Neither edit alone takes a required path away. Together they take the fly rail from the stage manager:",
        DECK_ENGINEER,
        command=("merge", "house"),
        needs_a_person=True,
    )


def _settled() -> Iterator[Beat]:
    deck = DECK_ENGINEER
    yield Beat("Nothing is loaded, no file is touched, and it can wait until tomorrow:", deck, None, ("now",), True)
    yield Beat(
        "The house radio was plotted twice. It becomes one group, as the deck has it.",
        deck,
        None,
        ("settle", "1", "--take", "mine"),
        True,
    )
    yield Beat(
        "The deputy's talk on LX: the other side was right.", deck, None, ("settle", "2", "--take", "incoming"), True
    )
    yield Beat(
        "Channel 18 of the stage manager: DOCK keeps it, SEC moves to 19, which is free.",
        deck,
        None,
        ("settle", "4", "--value", "19"),
        True,
    )
    yield Beat(
        "FLY stays on the stage manager's list, as the deck has it. That was the last, so the merge is recorded:",
        deck,
        None,
        ("settle", "3", "--take", "mine"),
    )
    yield Beat(
        "The rail hears the stage manager again, but the key of FLY went to SEC. FLY gets it back:", deck, command=_KEY
    )
    yield Beat("SEC goes under a spare key.", deck, command=_SPARE_KEY)
    yield Beat("What that does, before it is recorded:", deck, command=("compare",))
    yield Beat("", deck, command=("record", "--note", "FLY back under a key of the stage manager"))


_KEY = ("set", "devices/unit-sm/keys/A1", "fly")
_SPARE_KEY = ("set", "devices/unit-sm/keys/B12", "sec")
_GONE = ("auto-left", "auto-op")
"""Two of a path that the bad edit takes away."""
_CUT_OFF = ("dock-1", "dock-base")
"""Who calls the loaders, and their circuit, which the bad edit cuts off."""
_SOURCE_OF_IT = "users/auto-op/channels/auto/listen"


def _rollback() -> Iterator[Beat]:
    deck = DECK_ENGINEER
    yield from _step(BAD, "A hurried tidy-up, an hour before doors. Nobody reads what comes back:", needs_a_person=True)
    for good, text in zip(GOOD_AFTER, _GOOD_WORDS, strict=True):
        yield from _step(good, text)
    yield Beat(
        "The check before the release finds what the tidy-up broke:", deck, command=("check",), needs_a_person=True
    )
    yield Beat("Why can't the automation desk hear its watch?", deck, command=("paths", *_GONE), needs_a_person=True)
    yield Beat(
        "The loaders have no headset, only their radio; nobody would have missed them before the first truck:",
        deck,
        command=("paths", *_CUT_OFF),
        needs_a_person=True,
    )
    yield Beat("Who set that listen, and in which snapshot?", deck, command=("trace", _SOURCE_OF_IT))
    yield Beat("That one edit is taken back:", deck, command=("rollback", CodeOf("last-2")))
    yield Beat("Nothing blocks the release now.", deck, command=("check",))
    yield Beat("The whole story, with the good edits still in it:", deck, command=("history",))


_GOOD_WORDS = (
    "Good work goes on after it: camera 2 gets a spare pack.",
    "And the watch gets the level that it asked for.",
)


def _step(step: Step, text: str, needs_a_person: bool = False) -> Iterator[Beat]:
    yield Beat(text, step.who, edit=step.change)
    yield Beat("", step.who, command=("record", "--note", step.note), needs_a_person=needs_a_person)


def _recorded(who: str, note: str, text: str) -> Beat:
    return Beat(text, who, command=("record", "--note", note))


NEXT = (
    ("who hears the stage manager, and why", "showvc paths sm"),
    ("who still hears the truck without one switch", "showvc paths recording-truck sm --without deck-switch"),
    ("a change of your own", "showvc set users/sm/channels/fly/talk latch"),
    ("what it does to whom", "showvc compare"),
    ("and undoing it", "showvc undo"),
)
"""What a newcomer may try, each with its command."""
