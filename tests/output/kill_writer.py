"""A program to be killed: writes rounds of two kinds in turn into one folder, until it is."""

import itertools
import sys
from pathlib import Path
from unittest import mock

from routing.output import whole
from routing.output.exchange import exchange
from routing.output.places import Ground
from routing.output.whole import fill_folder

PAGES = 9


def texts(mark: str) -> dict[str, str]:
    """Return a round's files of one kind, with a gate code in each; the first is `round.json`."""
    return {"round.json": mark * 30_000, **{f"page-{mark}-{number}": f"gate {mark}" * 3000 for number in range(PAGES)}}


def main(farm: Path, way: str) -> None:
    """Write until killed; `two` keeps the system from letting folders change places at once."""
    sys.stdout.write("begun\n")
    sys.stdout.flush()
    with mock.patch.object(whole, "exchange", exchange if way == "at once" else never):
        for mark in itertools.cycle("ab"):
            fill_folder(texts(mark), farm / "rounds" / "day", Ground(farm), stale=is_page, private=True)


def never(_one: Path, _other: Path) -> bool:
    """Say that the system cannot do it."""
    return False


def is_page(name: str) -> bool:
    """Return whether a name is that of a page."""
    return name.startswith("page")


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
