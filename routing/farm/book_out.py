"""Writing workbooks: text stays text, nothing in it is ever calculated, and the same content gives the same bytes."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable

from xlsxwriter import Workbook

MADE = dt.datetime(1980, 1, 1, tzinfo=dt.UTC)
"""When every workbook says it was made, so that it tells nobody's working hours and its bytes do not change."""
AS_TEXT = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "default_date_format": "yyyy-mm-dd",
}
LONGEST_TEXT = 32_767
"""Characters that a cell may hold. Source: ECMA-376 part 1, and the programs that read it."""
A4 = 9


def book_bytes(build: Callable[[Workbook], None]) -> bytes:
    """Return the workbook that `build` fills."""
    content = io.BytesIO()
    book = Workbook(content, AS_TEXT)
    book.set_properties({"created": MADE})
    build(book)
    book.close()
    return content.getvalue()
