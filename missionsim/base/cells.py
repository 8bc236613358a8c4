"""Cells of tables that no spreadsheet takes for a formula, and how they are read back."""

from __future__ import annotations

import re

_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_MARKED = re.compile(r"''*[=+\-@\t\r]")
_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")


def safe_cell(text: str) -> str:
    """Return text as a cell: with an apostrophe before what a spreadsheet would compute; numbers stay numbers."""
    return f"'{text}" if _FORMULA.match(text) and not _NUMBER.fullmatch(text) else text


def read_cell(cell: str) -> str:
    """Return the text that `safe_cell` wrote."""
    return cell[1:] if _MARKED.match(cell) else cell
