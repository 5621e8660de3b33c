"""The passphrase of locked pages: where it is taken from, and what would make it no stronger."""

from __future__ import annotations

import getpass
import os
import sys
import warnings

from routing.errors import AskedError
from routing.farm.inert import inert
from routing.share import safety

ASKED_OF = "OUTYARD_PASSPHRASE"
"""The variable of the environment that may hold the passphrase."""


def given_passphrase(known: tuple[str, ...] = ()) -> str:
    """Return a passphrase that may be used: from the environment, standard input or, unseen and twice, the keyboard.

    Never from the command line, where other users of the computer and the shell's history would see it. `known` are
    words that make it no stronger.
    """
    given = os.environ.get(ASKED_OF, "")
    if given:
        passphrase = safety.passphrase.sound_passphrase(given, known)
    elif not sys.stdin.isatty():
        passphrase = safety.passphrase.sound_passphrase(_piped(), known)
    else:
        passphrase = safety.passphrase.sound_passphrase(
            _typed("Passphrase (it cannot be recovered if forgotten): "), known
        )
        if safety.passphrase.normal_passphrase(_typed("The same again: ")) != passphrase:
            raise AskedError("the two passphrases differ; nothing was written")
    if advice := safety.passphrase.passphrase_advice(passphrase, known):
        _tell(f"warning: {advice}")
    return passphrase


def _piped() -> str:
    try:
        return sys.stdin.readline(2 * safety.passphrase.LONGEST).rstrip(
            "\r\n"
        )  # more than may be, so that a longer one is noticed
    except UnicodeDecodeError as error:
        raise AskedError("the passphrase on standard input is not text in the encoding of this computer") from error


def _typed(prompt: str) -> str:
    with warnings.catch_warnings():
        warnings.simplefilter("error", getpass.GetPassWarning)
        try:
            return getpass.getpass(prompt)
        except (getpass.GetPassWarning, EOFError) as error:
            raise AskedError(f"this terminal cannot take a passphrase unseen; set {ASKED_OF} or pipe it in") from error


def _tell(text: str) -> None:
    sys.stderr.write(f"{inert(text)}\n")
