"""The review page: review."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import Session, command

if TYPE_CHECKING:
    from collections.abc import Sequence

    from showvc.history.archive import Archive
    from showvc.history.shows import Shows


@command("review", signs=True)
def review(
    session: Session,
    port: Annotated[
        int, typer.Option("--port", metavar="N", min=0, max=65535, help="The port to use. Default: any free one.")
    ] = 0,
    no_open: Annotated[bool, typer.Option("--no-open", help="Only print the address; open no browser.")] = False,
) -> None:
    """Look at the show and settle a merge on a page of this machine.

    Who hears whom as a table, any two sources compared, the history, key sheets and the check; and the open merge,
    each conflict with both sides drawn. Only this machine can look, and only with the address that is printed, which
    works once. Ends with Ctrl-C.
    """
    import sys
    from threading import Thread

    from showvc.cli.screen import interruptible
    from showvc.review.server import Running

    last = session.archive.last
    title = session.shows.at(last).title if last else ""
    running = Running(session.folder, _facts, title or session.folder.name, port)
    address = running.address
    session.data({"address": address})
    session.say(f"Look at: {address}")
    session.say("The address works once, and on this machine only. End with Ctrl-C.")
    sys.stdout.flush()
    if not no_open and _has_screen():
        Thread(target=_open, args=(address,), daemon=True).start()
    with interruptible():
        running.run()
    session.aside("\nshowvc: the review page is closed; what was settled is kept.")


def _has_screen() -> bool:
    """Whether a browser would open a window; one for the terminal would take it over, and keep the page from it."""
    import os
    import sys

    return sys.platform in ("darwin", "win32") or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _open(address: str) -> None:
    import webbrowser
    from contextlib import suppress

    with suppress(webbrowser.Error, OSError):
        webbrowser.open(address)


def _facts(archive: Archive, shows: Shows) -> Sequence[tuple[str, str]]:
    """What `now` tells, a word and a sentence for each fact; a sentence that goes on has no word."""
    from showvc.cli.standing_words import standing, standing_facts

    return list(standing_facts(standing(archive, shows)))
