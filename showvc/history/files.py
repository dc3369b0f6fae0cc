"""Shows back to the files of a tree, every file keeping its comments and order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from showvc.document import SECTIONS, Body, Show, ShowError, differing
from showvc.formats.files import HEAD, Place, canonical, merged_text, place_of, rewritten
from showvc.formats.folder import folder_texts
from showvc.formats.patching import with_comments
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.identity.renames import Rename, renames

Files = Mapping[str, str]


def body_at(show: Show, place: Place) -> Body | None:
    """The body of a place in a show."""
    if place.section is None:
        return show.head
    body: Body | None = show.section(place.section).get(place.id)
    return body


def changed_places(before: Show, after: Show) -> list[Place]:
    """The files whose bodies differ."""
    found = [Place()] if before.head != after.head else []
    return found + [
        Place(name, id_) for name in SECTIONS for id_ in differing(before.section(name), after.section(name))
    ]


def files_with(shows: Shows, files: Files, before: Show, after: Show) -> dict[str, str]:
    """The files of `before` changed into those of `after`: path → blob id."""
    made = dict(files)
    if shows.older(files) is not None:
        return {path: oid for path, oid in files.items() if _place(path) is None} | _anew(shows, files, after)
    was = _moved(files, renames(before, after).sure)
    if HEAD not in made:
        made[HEAD] = _stored(shows.archive, canonical(after.head))
    for place in changed_places(before, after):
        body = body_at(after, place)
        if body is None:
            made.pop(place.path, None)
            continue
        old = shows.text(made.get(place.path) or was.get(place.path))
        made[place.path] = _stored(shows.archive, canonical(body) if old is None else rewritten(body, old))
    return made


def _moved(files: Files, pairs: Iterable[Rename]) -> dict[str, str]:
    """The text of each thing that has another id by now, by the path that it has now: a rename moves a file's text."""
    old = [(Place(pair.section, pair.new).path, files.get(Place(pair.section, pair.old).path)) for pair in pairs]
    return {path: oid for path, oid in old if oid is not None}


def merged_files(
    shows: Shows, before: Files, mine: Files, incoming: Files, result: Show, pairs: Sequence[Rename] = ()
) -> dict[str, str]:
    """The files of a merged show: comments of both sides are kept, and what one side alone has, as it is.

    `pairs` are ids that a thing had on a side, each with the one that it has in `result`.
    """
    made = dict(mine)
    if any(shows.older(files) is not None for files in (before, mine, incoming)):
        return {path: oid for path, oid in mine.items() if _place(path) is None} | _anew(shows, mine, result)
    edited = {
        path for path in {*before, *mine, *incoming} if not before.get(path) == mine.get(path) == incoming.get(path)
    }
    edited |= {place.path for place in changed_places(shows.of_files(mine), result)}
    moved = [(files, _moved(files, pairs)) for files in (before, mine, incoming)]
    for path in sorted(edited):
        place = place_of(path)
        body = body_at(result, place) if place else None
        if body is None:
            made.pop(path, None)
            continue
        sides = [files.get(path) or was.get(path) for files, was in moved]
        made[path] = _stored(shows.archive, _text(shows, body, *sides))
    return made


def _text(shows: Shows, body: Body, before: str | None, mine: str | None, incoming: str | None) -> str:
    if incoming in (before, mine) and mine is not None:
        return rewritten(body, shows.text(mine) or "")
    if mine == before and incoming is not None:
        return rewritten(body, shows.text(incoming) or "")
    return merged_text(body, shows.text(before), shows.text(mine), shows.text(incoming))


def _anew(shows: Shows, files: Files, show: Show) -> dict[str, str]:
    """Every file of a show that was of an older format, with the comments that the file had."""
    texts = folder_texts(show)
    kept = {path: shows.text(files.get(path)) or "" for path in texts}
    return {path: _stored(shows.archive, with_comments(text, "", kept[path])) for path, text in texts.items()}


def _place(path: str) -> Place | None:
    try:
        return place_of(path)
    except ShowError:
        return None


def _stored(archive: Archive, text: str) -> str:
    return archive.store("blob", text.encode())
