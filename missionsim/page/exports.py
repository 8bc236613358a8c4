"""What leaves the page as a file: written results one by one or in a workbook, and the study's own files together."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from missionsim.base.cells import read_cell
from missionsim.base.errors import Fault
from missionsim.base.owned_files import untouched, written_in
from missionsim.page.study_file import RefusedError
from missionsim.study.inputs.files import is_file
from missionsim.study.inputs.overlays import Layers, read_layers

LEFT_OUT = "left_out.txt"
FILES = ("trips", "rent_aircraft", "airports_file", "runways_file")
"""Keys at the top of a study that name a file, as text or in a table with the key `file`."""
MOST_ROWS = 1_048_575
"""Rows a sheet of a workbook takes below its headings."""
_SAME_DAY = (1980, 1, 1, 0, 0, 0)
"""Date of every file in the archive, so that the same study gives the same bytes."""


def written_results(folder: Path) -> list[str]:
    """Return the names of the result files in a folder, if they are ours and as they were written."""
    return sorted(written_in(folder)) if untouched(folder) else []


def workbook(folder: Path) -> bytes:
    """Return the tables of a folder of results as one workbook, a sheet a table; nothing in it is computed.

    Raises
    ------
    RefusedError   There are no tables, or they were changed since they were written.
    """
    from openpyxl import Workbook  # noqa: PLC0415  (a sixth of a second that the page need not wait for)
    names = [name for name in written_results(folder) if name.endswith(".csv")]
    if not names:
        raise RefusedError([Fault("", "tables", "are not written yet", "write the report first")])
    book = Workbook(write_only=True)
    for name in names:
        sheet = book.create_sheet(Path(name).stem[:31])
        with (folder / name).open(encoding="utf-8", newline="") as file:
            for i, row in enumerate(csv.reader(file)):
                if i <= MOST_ROWS:
                    sheet.append([_cell(sheet, text) for text in row])
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def _cell(sheet: Any, text: str) -> Any:
    """Return a cell that no spreadsheet takes for a formula: numbers as numbers, all else as text marked as such."""
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE  # noqa: PLC0415
    try:
        value = float(text) if text[:1] in "0123456789-." else None
    except ValueError:
        value = None
    if value is not None and abs(value) < 1e15:
        return int(value) if value.is_integer() and "." not in text else value
    plain = ILLEGAL_CHARACTERS_RE.sub("", read_cell(text))[:32_767]
    cell = WriteOnlyCell(sheet, value=plain)
    if plain[:1] in tuple("=+-@"):
        cell.data_type = "s"
        cell.quotePrefix = True
    return cell


def study_archive(path: Path) -> bytes:
    """Return the study and every file it names as a zip archive, in folders as they lie to each other.

    What lies beyond the folder above the study's own is left out and told in `left_out.txt`: its place says things of
    this machine, and the study would not find it elsewhere.

    Raises
    ------
    InputError, RefusedError   The study cannot be read, or is not there yet.
    """
    if not path.is_file():
        raise RefusedError([Fault(path.name, "", "nothing is in it yet")])
    layers = read_layers(path)
    files = dict.fromkeys([*(d.file.path.resolve() for d in layers.documents),
                           *(p.resolve() for p in _named(layers))])
    top = path.resolve().parent
    inside = [f for f in files if top in f.parents]
    if len(inside) < len(files) and len(top.parents) > 1:     # a study of the demo's form: files in folders beside it
        top = top.parent
    inside, far = [f for f in files if top in f.parents], [f for f in files if top not in f.parents]
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in inside:
            archive.writestr(zipfile.ZipInfo(file.relative_to(top).as_posix(), _SAME_DAY), file.read_bytes())
        if far:
            told = "Not in this archive, since they lie elsewhere:\n" + "".join(f"{f.name}\n" for f in far)
            archive.writestr(zipfile.ZipInfo(LEFT_OUT, _SAME_DAY), told)
    return made.getvalue()


def _named(layers: Layers) -> Iterator[Path]:
    """Yield the files that a study names and that are there."""
    data = layers.data
    places: list[tuple[Any, ...]] = [(key,) for key in FILES]
    places += [("candidates", i) for i in range(_length(data.get("candidates")))]
    stations = data.get("weather_files")
    places += [("weather_files", key) for key in (stations if isinstance(stations, dict) else ())]
    places += [("members", "people", i, "trips") for i in range(_length(_value(data, ("members", "people"))))]
    for place in places:
        value, at = _value(data, place), place
        if isinstance(value, dict):
            inner = "aircraft" if place[0] == "candidates" else "file"
            value, at = value.get(inner), (*place, inner)
        if isinstance(value, str) and is_file(found := layers.resolve(at, value)[0]):
            yield found


def _length(value: Any) -> int:
    return len(value) if isinstance(value, list) else 0


def _value(data: Any, place: tuple[Any, ...]) -> Any:
    """Return what stands at a place of nested tables and lists; None where there is nothing."""
    for part in place:
        data = data[part] if isinstance(part, int) else data.get(part) if isinstance(data, dict) else None
        if data is None:
            return None
    return data
