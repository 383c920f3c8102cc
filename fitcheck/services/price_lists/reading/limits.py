"""How much of a list is read; past a limit the list is refused in one line, never cut."""

from __future__ import annotations

MAX_BYTES = 100 * 1024 * 1024
"""Bytes of the file itself."""

MAX_ROWS = 1_000_000
MAX_COLUMNS = 1_000
MAX_CELLS = 15_000_000
"""Rows times columns of one sheet, and of all sheets together."""

MAX_SHEETS = 200

LONGEST_CELL = 131_072
"""Characters of one cell: four times what the spreadsheet formats allow."""

LONGEST_LINE = 2_000_000
"""Characters of one line of a text file."""

MAX_INFLATED = 600 * 1024 * 1024
"""Bytes that all packed parts of a workbook may unfold to."""

MAX_RATIO = 250
"""How many times its packed size a large part may unfold to; worksheets stay well under 100."""

MAX_PARTS = 5_000
"""Files inside a packed workbook."""
