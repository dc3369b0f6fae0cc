"""Small files and names of ours that are damaged: told by name, with the way out that loses nothing."""

from __future__ import annotations

from pathlib import Path

from showvc.document import MachineError
from showvc.document.lining import printable
from showvc.store.damage import called

MEND = "mend it, nothing is thrown away: showvc verify --mend"


class Spoiled(MachineError):
    """A file or name of ours is not what we wrote; `verify --mend` makes it anew or sets it aside."""


def spoiled_name(git_dir: Path, name: str, what: str = "leads to nothing") -> Spoiled:
    """That a draft, mark, release or list is damaged, and in which file it stands."""
    words = "list of commands" if name == "refs/showvc/operations" else called(name)
    place = git_dir / printable(name) if (git_dir / name).exists() else git_dir / "packed-refs"
    return Spoiled(f"the history is damaged (the {printable(words)} {what}: {place})", MEND)


def spoiled_file(path: Path) -> Spoiled:
    """That a small file of ours cannot be read."""
    return Spoiled(f"{path} is damaged", MEND)
