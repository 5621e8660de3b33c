"""An OpenDocument spreadsheet around any content, as bytes."""

from __future__ import annotations

import io
import zipfile

TYPE = "application/vnd.oasis.opendocument.spreadsheet"


def ods_bytes(content: bytes) -> bytes:
    """Return a zip with the parts that an OpenDocument spreadsheet needs."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("mimetype", TYPE, zipfile.ZIP_STORED)
        parts.writestr("content.xml", content)
    return made.getvalue()
