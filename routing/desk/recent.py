"""The farms that were opened last, remembered in this person's own folder of the program, never in a farm's."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from routing.farm.folder import FILES
from routing.farm.on_disk import is_there
from routing.output.whole import put_private

MOST = 12
_LARGEST = 100_000


def usual_file() -> Path:
    """Return where they are remembered."""
    return platformdirs.user_state_path("outyard") / "farms.json"


def usual_farms() -> Path:
    """Return the folder that new farms are made in: one of this person's documents."""
    return platformdirs.user_documents_path() / "outyard"


def usual_downloads() -> Path:
    """Return where browsers put what is fetched with them."""
    return platformdirs.user_downloads_path()


@dataclass(frozen=True)
class Recent:
    """The list in a file; what cannot be read is no list, and what cannot be written is not remembered."""

    file: Path

    def folders(self) -> tuple[Path, ...]:
        """Return the folders, the last one first, of which each still has a farm."""
        return tuple(folder for folder in self._listed() if is_there(folder / FILES[0]))

    def remember(self, folder: Path) -> None:
        """Put a folder first."""
        real = folder.resolve()
        listed = [str(real), *(str(each) for each in self._listed() if each != real)][:MOST]
        with suppress(OSError):
            self.file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            put_private(self.file, json.dumps(listed).encode())

    def _listed(self) -> tuple[Path, ...]:
        try:
            with self.file.open("rb") as opened:
                found = json.loads(opened.read(_LARGEST))
        except (OSError, ValueError, RecursionError):
            return ()
        texts = (
            [each for each in found if isinstance(each, str) and "\0" not in each] if isinstance(found, list) else []
        )
        return tuple(path for path in map(Path, texts) if path.is_absolute())[:MOST]
