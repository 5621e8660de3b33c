"""What a target is: named files with a grammar each, inputs to begin with, and what is run on them."""

from __future__ import annotations

import ast
import atexit
import re
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from random import Random

from tests.fuzz.inputs import Files
from tests.fuzz.mutate import Mutator, mutated

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
MOST_WORDS = 4000
_WORD = re.compile(r"[\w.:+-]{2,40}")


@dataclass(frozen=True)
class Target:
    """One part of the program that reads what others wrote."""

    name: str
    grammars: Mapping[str, Mutator]
    """How each of its files is changed."""
    seeds: Sequence[Files]
    """Inputs to begin with, good ones."""
    run: Callable[[Files], None]
    """Reads an input; raises what the program raises, and PromiseBrokenError where an answer is not as promised."""
    read_by: Sequence[str] = ()
    """The modules that read it, `farm/settings.py`: their words are the words of its grammar."""
    spelt: Sequence[str] = ()
    """More words of its grammar."""

    @cached_property
    def words(self) -> tuple[str, ...]:
        """The words of the seeds and of the modules that read them."""
        texts = (content.decode("utf-8", "replace") for files in self.seeds for content in files.values())
        found = dict.fromkeys(self.spelt)
        found |= dict.fromkeys(word for text in texts for word in _WORD.findall(text))
        found |= dict.fromkeys(word for module in self.read_by for word in _literals(ROOT / "routing" / module))
        return tuple(found)[:MOST_WORDS]

    def changed(self, files: Files, chance: Random) -> Files:
        """Return an input changed in one or two of its files, or with one left out or taken from another seed."""
        new = dict(files)
        for _ in range(chance.choice((1, 1, 1, 2))):
            name = chance.choice(list(self.grammars))
            kind = chance.random()
            if kind < 0.02:
                new.pop(name, None)
            elif name not in new or kind < 0.05:
                new[name] = chance.choice(self.seeds).get(name, b"")
            else:
                new[name] = mutated(new[name], self.grammars[name], chance, self.words)
        return new


def _literals(path: Path) -> Iterator[str]:
    """Yield the short words that a module spells out, its keys and columns among them."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and _WORD.fullmatch(node.value):
            yield node.value


def scratch() -> Path:
    """Return a folder of our own, in memory where there is such a place; it goes with the process."""
    memory = Path("/dev/shm")  # noqa: S108 - only ours is made in it
    folder = Path(tempfile.mkdtemp(prefix="outyard-fuzz-", dir=memory if memory.is_dir() else None))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def written(files: Files, folder: Path, always: Files | None = None) -> Path:
    """Write an input, and nothing else but what is `always` there, into a folder and return that."""
    for path in folder.iterdir():
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()
    for name, content in {**(always or {}), **files}.items():
        (folder / name).write_bytes(content)
    return folder
