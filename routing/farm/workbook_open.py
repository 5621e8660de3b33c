"""Opening a workbook with the library that reads it, which is heavy and imported with this module."""

from __future__ import annotations

import io
import warnings
import zipfile

import openpyxl
from openpyxl.workbook.workbook import Workbook


def loaded(parts: zipfile.ZipFile) -> Workbook:
    """Return the workbook of an archive that is held in memory, to be read row by row; raises what the library does."""
    content = parts.fp
    if not isinstance(content, io.BytesIO):
        raise TypeError("a workbook is held in memory")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of what it leaves out: drop-downs, print areas and the like
        return openpyxl.load_workbook(io.BytesIO(content.getvalue()), read_only=True, data_only=True, keep_links=False)
