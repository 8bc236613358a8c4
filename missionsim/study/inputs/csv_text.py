"""Rows of a CSV file as people export it: any usual delimiter, comment lines, own headings, line numbers kept."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from missionsim.base.cells import read_cell
from missionsim.base.errors import Fault, InputError, NearMatches, commanding, near_match
from missionsim.study.inputs.files import TextFile

DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
MOST_ROWS = 100_000
USUAL_ELSEWHERE = frozenset((
    "night", "day", "ifr", "vfr", "imc", "vmc", "actual", "hood", "pic", "sic", "dual", "solo", "total", "landings",
    "night_landings", "day_landings", "approaches", "holds", "route", "remarks", "comments", "notes", "type", "make",
    "model", "ident", "registration", "tail_number", "aircraft", "engine", "block", "cross_country", "xc", "instrument",
    "simulated", "simulator", "instructor", "student", "tach", "hobbs", "fuel", "oil", "cost", "distance", "takeoffs"))
"""Headings of logbooks and calendars that look like ours (`Night`) and are none."""
_MOST_LINES_A_CELL = 50
_SHEET_ERRORS = re.compile(r"#(N/A|REF!|VALUE!|NAME\?|DIV/0!|NUM!|NULL!|SPILL!|CALC!|#)")


@dataclass(frozen=True, slots=True)
class Row:
    """One row: cells by our column name, with the line it starts at."""

    line: int
    cells: Mapping[str, str]
    text: str = ""
    """All of the row, columns we do not know too."""

    def get(self, column: str) -> str:
        """Return a cell without surrounding blanks; empty where the file has no such column."""
        return self.cells.get(column, "")


@dataclass(frozen=True, slots=True)
class CsvTable:
    """A table with our column names.

    Parameters
    ----------
    name : str                   The file, for messages.
    headings : mapping           Our column to the file's heading, for those the file has.
    rows : tuple of Row
    delimiter : str
    header_line : int
    unused : tuple of str        Headings that mean nothing to us.
    """

    name: str
    headings: Mapping[str, str]
    rows: tuple[Row, ...]
    delimiter: str
    header_line: int
    unused: tuple[str, ...]

    def fault(self, row: Row, column: str, what: str, accepted: str = "", near: str = "") -> Fault:
        """Return a fault in a cell, under the heading the user knows; arguments as for `RowReader.fault`."""
        return Fault(self.name, self.headings.get(column, column), what, accepted, near, row.line)


def read_table(file: TextFile, ours: Sequence[str], required: Sequence[str], columns: Mapping[str, str],
               delimiter: str | None = None) -> CsvTable:
    """Return the rows of a delimited table under our column names.

    Parameters
    ----------
    file : TextFile
    ours : sequence of str        Column names we know.
    required : sequence of str    Those that must be there.
    columns : mapping             Our name to the file's heading, where it differs.
    delimiter : str, optional     A name in `DELIMITERS`; else found from the header.

    Raises
    ------
    InputError                    No header, columns missing or twice, cells without end, rows too long or too many.
    """
    first, chosen = _header_line(file, DELIMITERS.get(delimiter or ""))
    raw = list(_cells(file, chosen))
    header = next((cells for line, cells in raw if line >= first), None)
    if header is None:
        raise InputError([Fault(file.name, "", "holds no header line", "a first line with the names of the columns")])
    header_line = next(line for line, _ in raw if line >= first)
    names = [cell.strip() for cell in header]
    positions, faults = _positions(file.name, names, ours, columns, header_line)
    faults += _missing(file.name, positions, required, names, header_line)
    rows, long = _rows(file.name, [(line, c) for line, c in raw if line > header_line], positions, len(names))
    if faults or long:
        raise InputError([*faults, *long])
    unused = tuple(n for i, n in enumerate(names) if n and i not in positions.values())
    return CsvTable(file.name, {our: names[i] for our, i in positions.items()}, rows, chosen, header_line, unused)


def head_of(file: TextFile) -> tuple[list[str], list[list[str]]]:
    """Return the headings of a table and the cells below them; raises as `read_table` does."""
    first, chosen = _header_line(file, None)
    raw = [cells for line, cells in _cells(file, chosen) if line >= first]
    if not raw:
        raise InputError([Fault(file.name, "", "holds no header line", "a first line with the names of the columns")])
    return [cell.strip() for cell in raw[0]], raw[1:]


_TITLE_LINES = 10
"""How far below a title, or a line with the name of the list, the headings may stand."""


def _header_line(file: TextFile, delimiter: str | None) -> tuple[int, str]:
    """Return the line of the header and the delimiter it shows; a title of one cell above it is passed over."""
    first: tuple[int, str, int] | None = None
    for line, text in enumerate(io.StringIO(file.text, newline=None), 1):
        says = re.fullmatch(r"sep=(.)\s*", text, flags=re.IGNORECASE)
        if says:
            delimiter = delimiter or says[1]
        elif text.strip(" \t\r\n,;|") and not _is_comment(text):
            bare = re.sub(r'"[^"]*"', "x", text)
            counts = {d: bare.count(d) for d in DELIMITERS.values()}
            chosen = delimiter or max(counts, key=lambda d: counts[d])
            filled = sum(bool(cell.strip()) for cell in bare.split(chosen))
            if first is None:
                first = line, chosen, filled
            if filled > 1 or line > first[0] + _TITLE_LINES:
                return (line, chosen) if first[2] == 1 and filled > 2 else first[:2]
    if first is not None:
        return first[:2]
    raise InputError([Fault(file.name, "", "holds no header line", "a first line with the names of the columns")])


def _is_comment(text: str) -> bool:
    bare = text.lstrip(" \t\"")
    return bare.startswith("#") and not _SHEET_ERRORS.match(bare)


def _cells(file: TextFile, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Yield the line and cells of each row that is neither blank nor a comment."""
    lines = ("\n" if _is_comment(t) else t for t in io.StringIO(file.text, newline=None))
    reader = csv.reader(lines, delimiter=delimiter)
    before, count = 0, 0
    try:
        for cells in reader:
            line, before = before + 1, reader.line_num
            if reader.line_num - line > _MOST_LINES_A_CELL:
                raise InputError([Fault(file.name, "", "a quotation mark is opened and not closed", "", "", line)])
            if not any(cell.strip() for cell in cells):
                continue
            count += 1
            if count > MOST_ROWS:
                raise InputError([Fault(file.name, "", "has too many rows", f"at most {MOST_ROWS:,}", "", line)])
            yield line, cells
    except csv.Error as error:
        raise InputError([Fault(file.name, "", f"is not a readable table ({error})", "", "", before + 1)]) from None


def plain_heading(heading: str) -> str:
    """Return a heading in small letters, its words joined by underscores."""
    return re.sub(r"[\s_-]+", "_", heading.strip().casefold())


def _positions(file: str, names: Sequence[str], ours: Sequence[str], columns: Mapping[str, str], line: int,
               ) -> tuple[dict[str, int], list[Fault]]:
    positions: dict[str, int] = {}
    faults = []
    plain = [plain_heading(n) for n in names]
    claimed = {plain_heading(heading) for heading in columns.values()}
    for our in ours:
        wanted = columns.get(our, our)
        if our not in columns and plain_heading(our) in claimed:
            continue  # the user gave this heading another meaning
        where = [i for i, name in enumerate(plain) if name == plain_heading(wanted)]
        if len(where) > 1:
            faults.append(Fault(file, wanted, "is the heading of several columns", "each heading once", "", line))
        elif where:
            positions[our] = where[0]
        elif our in columns:
            faults.append(Fault(file, f"columns.{our}", f"no column has the heading {wanted!r}",
                                ", ".join(n for n in names if n), near_match(wanted, names), line))
    if not columns:
        nearest, taken = NearMatches(), set(positions.values())
        for i, name in enumerate(names):
            known = not name or i in taken or plain_heading(name) in USUAL_ELSEWHERE
            near = "" if known else nearest.of(plain_heading(name), ours)
            if near and near not in positions:
                faults.append(Fault(file, name, "unknown column", ", ".join(ours), near, line))
    return positions, faults


def _missing(file: str, positions: Mapping[str, int], required: Sequence[str], names: Sequence[str], line: int,
             ) -> list[Fault]:
    found = ", ".join(n for n in names if n)
    return [Fault(file, our, f"no such column among: {found:.300}", f"a column {our!r}, or its heading in the study "
                  f"under trips.columns.{our}", "", line) for our in required if our not in positions]


def _rows(file: str, raw: Sequence[tuple[int, list[str]]], positions: Mapping[str, int], width: int,
          ) -> tuple[tuple[Row, ...], list[Fault]]:
    rows, faults = [], []
    for line, cells in raw:
        if len(cells) > width and any(cell.strip() for cell in cells[width:]):
            what = f"has {len(cells)} cells under {width} headings"
            faults.append(Fault(file, "", what, "as many cells as headings (text with commas in quotes)", "", line))
            continue
        row = {our: read_cell(cells[i].strip()) for our, i in positions.items() if i < len(cells)}
        faults += [Fault(file, our, f"holds the character {odd}", "plain text", "", line)
                   for our, cell in row.items() if (odd := commanding(cell))]
        rows.append(Row(line, row, " ".join(cell.strip() for cell in cells if cell.strip())))
    return tuple(rows), faults
