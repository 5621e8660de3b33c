"""A CSV file as text and back: what encoding it is in, and whether it begins with a byte order mark."""

from __future__ import annotations

import codecs
from dataclasses import dataclass

from routing.desk.files.changes import NotEditedError
from routing.farm.faults import Faults, quoted
from routing.farm.texts import SAVE_AS, decoded


@dataclass(frozen=True)
class Encoded:
    """A text with the bytes that it is written in."""

    text: str
    encoding: str = "utf-8"
    mark: bytes = b""

    def bytes_of(self, text: str) -> bytes:
        """Return another text in the same encoding. Raises NotEditedError where it cannot be written so."""
        try:
            return self.mark + text.encode(self.encoding)
        except UnicodeEncodeError as error:
            letter = quoted(text[error.start : error.end])
            raise NotEditedError(f"the file is in Windows-1252, which cannot hold {letter}: {SAVE_AS}") from error


def encoded(content: bytes, file: str) -> Encoded:
    """Return the text of a file as the reader of a farm reads it. Raises NotEditedError where it is no text."""
    faults = Faults()
    text = decoded(content, file, faults)
    if text is None:
        raise NotEditedError(str(faults.in_order(())[0]))
    mark = codecs.BOM_UTF8 if content.startswith(codecs.BOM_UTF8) else b""
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return Encoded(text, "cp1252")
    return Encoded(text, mark=mark)
