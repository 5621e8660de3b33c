"""What is told of a fault that nobody foresaw: a file for who mends it, and one sentence for the farmer.

The file goes out of the house, so it holds nothing that stands in a farm folder: no message of an error (it quotes what
was read), no path, no value of an option; only kinds of errors, places in our own code, versions, and words of ours.
"""

from __future__ import annotations

import os
import platform
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from routing.farm.inert import inert

PACKAGE = "routing"
MOST_FRAMES = 40
"""So many places of each error are told, the innermost: a recursion has thousands."""
MOST_ERRORS = 10
ONLY_READING = frozenset(
    {
        *("read", "kinds", "light", "fit", "chance", "learned", "schema", "compare", "explain", "try"),
        *("what-if", "weather show", "log list", "due", "due list", "feed"),
    }
)
"""Commands that write nothing the farmer wrote or keeps; a road map that they build is in the program's own cache."""


@dataclass(frozen=True)
class Asked:
    """What was asked of the program, in its own words alone."""

    command: str = ""
    """The command, `log add`; empty where it is not known."""
    options: tuple[str, ...] | None = ()
    """The names of its options, without what was given for them; None where its options are not known."""

    @property
    def only_reads(self) -> bool:
        """Whether the command is known to change nothing of the farmer's."""
        return self.command in ONLY_READING


def asked(words: Sequence[str], group: Any) -> Asked:  # noqa: ANN401 - a command of the command line's library
    """Return the command and the options in the words of a command line; what is no word of ours is not told.

    `group` is the program's command. No command is imported for it: the import may be what failed.
    """
    named: list[str] = []
    rest = list(words)
    while rest and rest[0] in getattr(group, "commands", ()):
        named.append(rest.pop(0))
        group = group.commands.at_hand(named[-1])
    if "list" in getattr(group, "commands", ()):  # what `due` does where no command of it is named
        group = group.commands.at_hand("list")
    if group is None:
        return Asked(" ".join(named), None)
    known = {name for option in group.params for name in (*option.opts, *option.secondary_opts) if name[:1] == "-"}
    options = dict.fromkeys(word.partition("=")[0] for word in rest)
    return Asked(" ".join(named), tuple(name for name in options if name in known))


def report_text(error: BaseException, of: Asked) -> str:
    """Return the text of the report."""
    lines = [
        "outyard: report of a fault of the program",
        "It holds no name, place, number, text or path of the farm; please send it to who looks after the program.",
        "",
        f"command: {of.command or 'not known'}",
        f"options: {'not known' if of.options is None else ' '.join(of.options) or 'none'}",
        f"python: {platform.python_version()} on {platform.system()} {platform.machine()}",
        *(f"{name}: {version}" for name, version in _versions().items()),
    ]
    for number, (one, how) in enumerate(_errors(error)):
        lines += ["", f"{how if number else 'error'}: {type(one).__module__}.{type(one).__qualname__}"]
        if isinstance(one, OSError) and one.errno is not None:
            lines.append(f"  the system's number: {one.errno}")
        lines += [f"  {place}" for place in _places(one)]
    return "\n".join(lines) + "\n"


def write_report(text: str) -> Path | None:
    """Write the report where only its owner may read it, and return where; None where nothing can be written."""
    with suppress(OSError):
        handle, name = tempfile.mkstemp(prefix="outyard-fault-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        return Path(name)
    return None


def sentence(error: BaseException, of: Asked, report: Path | None) -> str:
    """Return what the farmer is told: what happened, whether anything was changed, where the report stands."""
    unchanged = (
        f"nothing that you wrote down was changed, since outyard {of.command} only reads"
        if of.only_reads
        else "whether it had written anything by then is not known, so look before you run it again"
    )
    told = (
        f"a report of it, without anything private, stands in {inert(str(report))}"
        if report is not None
        else "no report of it could be written"
    )
    return f"{_what(error)}; {unchanged}; {told}."


def _what(error: BaseException) -> str:
    if isinstance(error, MemoryError):
        return "The memory of this computer was not enough for it"
    if isinstance(error, RecursionError):
        return "Something that it was given is nested more deeply than the program can follow"
    if isinstance(error, OSError) and error.errno is not None:
        return f"The computer refused to read or write something that the program needs ({os.strerror(error.errno)})"
    return f"The program met a fault of its own ({type(error).__name__}), which is not a fault of your folder"


def _errors(error: BaseException) -> Iterator[tuple[BaseException, str]]:
    """Yield an error and those that it came of, each with how it belongs to the one before."""
    seen: set[int] = set()
    one, how = error, ""
    while id(one) not in seen and len(seen) < MOST_ERRORS:
        seen.add(id(one))
        yield one, how
        if one.__cause__ is not None:
            one, how = one.__cause__, "caused by"
        elif one.__context__ is not None and not one.__suppress_context__:
            one, how = one.__context__, "while dealing with"


def _places(error: BaseException) -> list[str]:
    """Return the places in our own code that an error went through, the outermost first."""
    places = []
    trace = error.__traceback__
    while trace is not None:
        module = str(trace.tb_frame.f_globals.get("__name__", ""))
        if module.partition(".")[0] == PACKAGE:
            places.append(f"{module}:{trace.tb_lineno}")
        trace = trace.tb_next
    return places[-MOST_FRAMES:]


def _versions() -> Mapping[str, str]:
    """Return the versions of the program and of the libraries that it asks for."""
    found = {}
    with suppress(metadata.PackageNotFoundError):
        for wanted in ("outyard", *(metadata.requires("outyard") or ())):
            name = wanted.split(";", maxsplit=1)[0].split(">", maxsplit=1)[0].split("=", maxsplit=1)[0].strip()
            with suppress(metadata.PackageNotFoundError):
                found[name] = metadata.version(name)
    return found
