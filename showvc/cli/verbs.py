"""Many edits in one word: give, rename, copy, replace, swap; and what the document looks like."""

from __future__ import annotations

from typing import Annotated

import typer

from showvc.cli.app import Session, command, json_text
from showvc.cli.editing import Yes, edited


@command("give", signs=True)
def give(
    session: Session,
    target: Annotated[str, typer.Argument(metavar="TARGET", help="A group, user or line.")],
    who: Annotated[
        list[str], typer.Argument(metavar="WHO…", help="Users, patterns such as spot-*, or department:NAME.")
    ],
    key: Annotated[str | None, typer.Option("--key", metavar="K", help="Put it on this key, such as A3.")] = None,
    no_key: Annotated[bool, typer.Option("--no-key", help="Put it on no key: only in the menu.")] = False,
    number: Annotated[int | None, typer.Option("--number", metavar="N", help="Put it at this channel number.")] = None,
    talk: Annotated[
        str | None, typer.Option("--talk", metavar="T", help="How to talk: none, momentary, latch, dual, open.")
    ] = None,
    listen: Annotated[
        str | None, typer.Option("--listen", metavar="L", help="How to listen: none, switchable, always.")
    ] = None,
    yes: Yes = False,
) -> int:
    """Give users a channel and a key.

    Both where the rest of their department has them, else at the next free place.

    What is taken is never given again. Talk is momentary unless --talk says otherwise. With a pattern or a department
    it is shown first, and written with --yes (exit code 1 without).

    Example: showvc give sm fly-1 fly-2 fly-3
    """
    from showvc.document import ShowError
    from showvc.editing import Wish, is_many
    from showvc.editing import give as given

    if key is not None and no_key:
        raise ShowError("--key and --no-key exclude each other", "leave one out")
    wish = Wish(key, not no_key, number, talk, listen)
    named: list[tuple[str, object]] = [("--key", key), ("--number", number), ("--talk", talk), ("--listen", listen)]
    options = [word for name, value in named if value is not None for word in (name, str(value))]
    words = ("give", target, *who, *(["--no-key"] if no_key else []), *options)
    return edited(
        session,
        " ".join(words),
        lambda show: given(show, target, who, wish),
        again=words if is_many(who) and not yes else None,
        whole=True,
    )


@command("rename", signs=True)
def rename(
    session: Session,
    what: Annotated[str, typer.Argument(metavar="ID", help="An item, such as sm or devices/desk-01.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The new id.")],
) -> int:
    """Change an id everywhere. The next snapshot writes it down, and merges follow it.

    Example: showvc rename users/sm caller
    """
    from showvc.editing import rename as renamed

    return edited(session, f"rename {what} {new}", lambda show: renamed(show, what, new), whole=True)


@command("copy", signs=True)
def copy(
    session: Session,
    what: Annotated[str, typer.Argument(metavar="ID", help="A user or device.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The id of the copy.")],
    name: Annotated[str | None, typer.Option("--name", metavar="T", help="Name the copy otherwise.")] = None,
    label: Annotated[str | None, typer.Option("--label", metavar="L", help="Label the copy otherwise.")] = None,
) -> int:
    """Add a user or device that is set up as another is.

    Example: showvc copy asm dep-sm --name "Deputy Stage Manager" --label DSM
    """
    from showvc.editing import copy as copied

    return edited(session, f"copy {what} {new}", lambda show: copied(show, what, new, name, label), whole=True)


@command("replace", signs=True)
def replace(
    session: Session,
    device: Annotated[str, typer.Argument(metavar="DEVICE", help="The unit that is broken.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The spare: a unit of the show that nobody wears.")],
    remove: Annotated[bool, typer.Option("--remove", help="Remove the broken unit from the show.")] = False,
) -> int:
    """Put a spare in the place of a broken unit.

    Wearer, keys, place, carriers and bridges go over; each unit keeps its address.

    Example: showvc replace pack-03 spare-1
    """
    from showvc.editing import replace as replaced

    said = f"replace {device} {new}{' --remove' if remove else ''}"
    return edited(session, said, lambda show: replaced(show, device, new, remove), whole=True)


@command("swap", signs=True)
def swap(
    session: Session,
    one: Annotated[str, typer.Argument(metavar="FIELD", help="A key, number, wearer or unit.")],
    other: Annotated[str, typer.Argument(metavar="FIELD", help="Another of the same sort.")],
) -> int:
    """Exchange two keys, numbers, wearers or units.

    Of two channels the numbers trade places; of two units wearer, keys, place, carriers and bridges.

    Example: showvc swap devices/desk-01/keys/A1 devices/desk-01/keys/A2
    """
    from showvc.editing import swap as swapped

    return edited(session, f"swap {one} {other}", lambda show: swapped(show, one, other), whole=True)


@command("schema")
def schema(
    session: Session,
    what: Annotated[str, typer.Argument(metavar="[WHAT]", help="What to describe. Default: document.")] = "document",
) -> None:
    """Print the JSON Schema of a show.

    It is of a show in one document, for editors that check and complete what is typed.
    """
    from showvc.document import ShowError, near
    from showvc.document.schema import document_schema

    if what != "document":
        raise ShowError(f"{what}: no such schema", near(what, ("document",)) or "there is: document")
    print(json_text(document_schema()))
