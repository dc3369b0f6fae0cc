"""Who set a value, and what it was before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from showvc.document import SECTIONS, Show, ShowError, near
from showvc.document.editing import ABSENT, require_shape, written
from showvc.document.pointers import join, parse
from showvc.formats.files import HEAD, Place, place_of
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, Version, history, versions
from showvc.history.sources import find_commit
from showvc.history.working import look


@dataclass(frozen=True, slots=True)
class Value:
    """A value, and the snapshot that set it. None where the snapshot took it away."""

    value: Any
    snapshot: Snapshot

    def plain(self) -> dict[str, Any]:
        return {"value": self.value, **self.snapshot.plain()}


def file_of(path: str) -> str:
    """The file in which a path of the document stands."""
    steps = parse(path)
    if not steps:
        raise ShowError("an empty path leads to the whole show", "name a field or a thing, such as users/sm")
    if steps[0] not in SECTIONS:
        return HEAD
    return Place(steps[0], steps[1]).path if len(steps) > 1 else steps[0]


def history_of(archive: Archive, path: str, start: str | None = None, most: int | None = None) -> list[Snapshot]:
    """The snapshots that touched a thing or a section, the newest first.

    ShowError where nothing can stand at the path, or no snapshot that leads to `start` ever had the thing.
    """
    steps = parse(path)
    file = file_of(path)
    require_shape(steps)
    found = history(archive, start, file, most)
    if not found and len(steps) > 1 and steps[0] in SECTIONS:
        raise _never_was(archive, steps[:2], file)
    return found


def _never_was(archive: Archive, thing: tuple[str, ...], file: str) -> ShowError:
    known = archive.files(look(archive).tree)
    if file in known:
        return ShowError(f"{join(*thing)} is not recorded yet", "record it: showvc record --note TEXT")
    places = [place for path in known if (place := place_of(path)) is not None]
    ids = [place.id for place in places if place.section == thing[0]]
    way_out = near(thing[1], ids) or f"see which there are: showvc history {thing[0]}, or look into {thing[0]}/"
    return ShowError(f"there never was a {join(*thing)} on this draft", way_out)


def require_commit(archive: Archive, name: str) -> str:
    """The snapshot of this name. ShowError where the name is no snapshot's."""
    from showvc.history.sources import unknown_source

    commit = find_commit(archive, name)
    if commit is None and name == "working":
        raise ShowError(
            "only what is recorded is a snapshot, and the working folder is not",
            "record it first: showvc record --note TEXT, then name that snapshot: last",
        )
    if commit is None:
        raise unknown_source(archive, name)
    return commit


def trace(archive: Archive, shows: Shows, path: str) -> list[Value]:
    """Each value that a place has had, the newest first, with the snapshot that set it.

    Opens only the snapshots that touched its file. ShowError where the place never held anything.
    """
    steps = parse(path)
    if len(steps) == 1 and steps[0] in SECTIONS:
        raise ShowError(f"{steps[0]} is a whole section", "name one thing in it, or use: showvc history")
    found = versions(archive, file_of(path))
    _read_all(shows, steps, found)
    known = {version.snapshot.oid: _value(shows, steps, version) for version in found}
    values = [
        Value(known[version.snapshot.oid], version.snapshot)
        for version in found
        if _set_here(known[version.snapshot.oid], [known.get(parent) for parent in version.parents])
    ]
    if not values:
        raise ShowError(
            f"nothing was ever recorded at {join(*steps)}", "see what there is: showvc history, showvc compare"
        )
    return [*_chosen_last(values, known, found), *values]


def _chosen_last(values: list[Value], known: dict[str, Any], found: list[Version]) -> list[Value]:
    """The value that stands now, where a merge chose it over a later one of the other side."""
    now = known[found[0].snapshot.oid]
    if values[0].value == now:
        return []
    return [Value(now, found[0].snapshot)]


def _set_here(value: Any, before: list[Any]) -> bool:
    """Whether no snapshot before had this value; a merge that took one side's is not the one who set it."""
    return value not in (before or [None])


def _read_all(shows: Shows, steps: tuple[str, ...], found: list[Version]) -> None:
    """Reads all versions in one go."""
    place = _place(steps)
    shows.bodies(place, {version.blob: version.blob for version in found if version.blob})


def _place(steps: tuple[str, ...]) -> Place:
    return Place(steps[0], steps[1]) if steps[0] in SECTIONS else Place()


def _value(shows: Shows, steps: tuple[str, ...], version: Version) -> Any:
    if version.blob is None:
        return None
    place = _place(steps)
    body = shows.bodies(place, {"": version.blob})[""]
    show = Show().with_section(place.section, {place.id: body}) if place.section else Show(head=body)  # type: ignore[arg-type]
    value = written(show, steps)
    return None if value is ABSENT else value
