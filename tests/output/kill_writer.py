"""A program to be killed: writes rounds of two kinds in turn into one folder, until it is."""

import itertools
import sys
from pathlib import Path

from routing.output import whole
from routing.output.places import Ground
from routing.output.whole import fill_folder

PAGES = 9


def texts(mark: str) -> dict[str, str]:
    """Return a round's files of one kind, with a gate code in each; the first is `round.json`."""
    return {"round.json": mark * 30_000, **{f"page-{mark}-{number}": f"gate {mark}" * 3000 for number in range(PAGES)}}


def main(farm: Path, way: str) -> None:
    """Write until killed; `two` keeps the system from letting folders change places at once."""
    if way == "two":
        whole.exchange = lambda _one, _other: False  # type: ignore[assignment]
    sys.stdout.write("begun\n")
    sys.stdout.flush()
    for mark in itertools.cycle("ab"):
        stale = "page-b" if mark == "a" else "page-a"
        fill_folder(
            texts(mark),
            farm / "rounds" / "day",
            Ground(farm),
            stale=lambda name, old=stale: name.startswith(old),
            private=True,
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
