"""The program from outside: `outyard`, or `python -m routing`, and the one guard over all of it."""

from __future__ import annotations

import io
import os
import sys
import unicodedata
from collections.abc import Sequence
from contextlib import suppress

from routing import cli
from routing.cli.fault_report import Asked, report_text, sentence, write_report
from routing.farm.inert import inert

DONE, NO, BAD_INPUT, OUR_FAULT, STOPPED, NOBODY_READS = 0, 1, 2, 3, 130, 141
"""Exit codes; the last is what a shell knows of a program whose output was cut off, as by `| head`."""

STANDARD_OUTPUT = 1


def main() -> None:
    """Run the command line and end with its exit code: 1 is the answer no, and nothing else ever is.

    What nobody foresaw is told in one sentence, with a report for who mends it, and ends with exit code 3.
    """
    _prepare_streams()
    _keep_for_answers()
    code = OUR_FAULT
    try:
        if told := strange(sys.argv[1:]):
            sys.stderr.write(told + "\n")
            sys.exit(BAD_INPUT)
        cli.app.app()  # imported here: a library that is missing or broken is told in words too
        code = DONE
    except SystemExit as end:
        code = _code(end)
    except KeyboardInterrupt:
        code = STOPPED
    except BaseException as error:  # noqa: BLE001 - the one place: past it Python itself would print a traceback, with
        # what was read in it, and end with 1, which means no; and libraries in Rust raise no Exception when they fail.
        code = _told(error)
    finally:  # whatever becomes of telling it
        sys.exit(_flushed(code))


def _code(end: SystemExit) -> int:
    """Return the exit code that is meant."""
    code = end.code if isinstance(end.code, int) else 0 if end.code is None else OUR_FAULT
    return cli.ends.meant_by_one(end) if code == NO else code


def _told(error: BaseException) -> int:
    """Tell what happened and return the exit code for it."""
    if isinstance(error, BrokenPipeError):
        return NOBODY_READS
    of, report = Asked(), None
    with suppress(Exception):  # part of the guard: where memory ran out the report may fail too, and the rest is told
        of = _asked()
        report = write_report(report_text(error, of))
    with suppress(OSError):  # nobody may be there to be told
        sys.stderr.write(sentence(error, of, report) + "\n")
    return OUR_FAULT


def _asked() -> Asked:
    """Return what was asked for; nothing where the command line itself could not be imported."""
    return cli.ends.asked_now() if sys.modules.get("routing.cli.app") else Asked()


def _flushed(code: int) -> int:
    """Return the exit code once all that was printed is out; what cannot be is told, and nothing more is tried."""
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except OSError as error:
        with suppress(OSError):
            for stream in (sys.stdout, sys.stderr):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        return _told(error)
    return code


def strange(words: Sequence[str]) -> str:
    """Return what is told of a word that a terminal would obey where it is told again, an empty text where none is."""
    for word in words:
        bad = next((letter for letter in word if letter not in "\t\n" and unicodedata.category(letter) == "Cc"), "")
        if bad:
            return f"the command has a word with the character {inert(bad)}, which no screen shows: write it without"
    return ""


def _prepare_streams() -> None:
    """Give the program something to read from and print to where that was closed; no letter stops a print."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: PTH123, SIM115 - until the end
        elif name == "stdout" and isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _keep_for_answers() -> None:
    """Keep standard output for the program's own words: what a library prints there by itself goes nowhere.

    HiGHS prints a line for its programmers now and then, whatever it is told, and a `--json` with it is no document.
    """
    said = sys.stdout
    if said is not sys.__stdout__ or not isinstance(said, io.TextIOWrapper):
        return  # it was closed, or is no standard output
    to = open(os.dup(STANDARD_OUTPUT), "wb", buffering=0 if said.write_through else -1)  # noqa: PTH123, SIM115 - until the end
    own = io.TextIOWrapper(to, said.encoding, said.errors, None, said.line_buffering, said.write_through)
    for name in ("stdout", "__stdout__"):  # by the second the width of a terminal is found
        setattr(sys, name, own)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, STANDARD_OUTPUT)
    os.close(nowhere)


if __name__ == "__main__":
    main()
