"""A show folder with a history, as an engineer has it on the desk."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.document import Show
from showvc.formats.folder import folder_texts
from showvc.history.archive import Archive
from showvc.history.beginning import begin
from showvc.history.shows import Shows
from showvc.history.snapshots import record


class Desk:
    """Writes shows into the folder and records them."""

    def __init__(self, folder: Path, show: Show) -> None:
        self.folder = folder
        self.write(show)
        begin(folder, None, None)
        self.archive = Archive.open(folder)
        self.shows = Shows(self.archive)

    def write(self, show: Show) -> None:
        texts = folder_texts(show)
        for old in self.folder.rglob("*.yaml"):
            if str(old.relative_to(self.folder)) not in texts:
                old.unlink()
        for path, text in texts.items():
            (self.folder / path).parent.mkdir(parents=True, exist_ok=True)
            (self.folder / path).write_text(text)

    def record(self, show: Show, note: str = "an edit") -> str:
        """Records the show and gives its snapshot."""
        self.write(show)
        record(self.archive, note, self.shows)
        return self.last

    @property
    def last(self) -> str:
        last = self.archive.last
        assert last is not None
        return last


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    from tests.release.salt import salt

    monkeypatch.setenv("SHOWVC_WHO", "Ada Deck")
    (tmp_path / "show").mkdir()
    return Desk(tmp_path / "show", salt())
