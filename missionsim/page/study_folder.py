"""The folder of one study as the page edits it: every accepted change is on disk before it is shown as accepted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from missionsim.base.errors import Fault, InputError, MissionsimError, told
from missionsim.page.files import ChangedOutsideError
from missionsim.page.hangar import Hangar
from missionsim.page.study_file import RefusedError, StudyFile
from missionsim.page.trip_table import NAME, SHOWN, TripRow, next_ident, read_row, rows_of, table_text
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.inputs.load_study import Study, load_study
from missionsim.study.inputs.trip_list import ListContext, as_rows
from missionsim.study.inputs.yaml_lines import read_yaml
from missionsim.year.trips import Trip, TripTable

NEW_FOLDER = "my_flying"
MOST_STUDIES = 200


class StudyFolder:
    """A study file, its trips and its aircraft; the page owns nothing outside the study's folder.

    Files that a study names elsewhere are copied into the folder before they are changed.
    """

    def __init__(self, path: Path) -> None:
        self.file = StudyFile(path)
        self.hangar = Hangar(self.file)
        self.rows: list[TripRow] = []
        self.row_faults: dict[str, list[Fault]] = {}
        self._read()

    @property
    def folder(self) -> Path:
        """Where everything is kept."""
        return self.file.folder

    @property
    def title(self) -> str:
        """What the study is called."""
        return str(self.file.get(["study"]) or "my flying")

    @property
    def revision(self) -> int:
        """Grows with every change."""
        return self.file.files.changes

    @classmethod
    def opened(cls, path: Path | None) -> StudyFolder:
        """Return the folder of a study file, of a folder that holds one, or of a new study.

        Raises
        ------
        InputError   There is no such file, or several studies to choose from.
        """
        if path is None:
            here = _studies(Path())
            return cls(here[0] if len(here) == 1 else Path(NEW_FOLDER) / "study.yaml")
        if path.is_dir():
            found = _studies(path)
            if len(found) > 1:
                names = ", ".join(p.name for p in found[:8])
                raise InputError([Fault(str(path), "", "holds several studies", f"one of {names}")])
            return cls(found[0] if found else path / "study.yaml")
        if not path.is_file():
            raise InputError([Fault(str(path), "", "file not found", "a study file, a folder, or nothing for a new "
                                    "study")])
        return cls(path)

    # Reading -------------------------------------------------------------------------------------------------------

    def _read(self) -> None:
        self.hangar.read()
        self.rows = self._listed()
        self._check_rows()

    def refreshed(self) -> bool:
        """Read again if another program has changed a file; tell whether it has."""
        if not self.file.files.changed_outside():
            return False
        self.file.read()
        self._read()
        return True

    def _listed(self) -> list[TripRow]:
        layers = self.file.layers()
        named = layers.data.get("trips")
        if named is None:
            return []
        if isinstance(named, str):
            path, _ = layers.resolve(("trips",), named)
            with suppress(InputError):     # a spreadsheet, or letters of another time
                text = self.file.files.read(path)
                if text is not None and _ours(text):
                    return rows_of(text)
        try:     # a table in somebody's own form: shown as it was read, kept as ours once it is changed
            listed = load_study(self.file.path).listed
        except InputError:
            return []
        return [] if listed is None else [TripRow(row.pop("trip_id"), row) for row in as_rows(listed)]

    def study(self) -> Study:
        """Return the study as the command line would load it.

        Raises
        ------
        InputError   With every fault.
        """
        if not self.file.path.is_file():
            raise InputError([Fault(self.file.path.name, "", "nothing is in it yet")])
        return load_study(self.file.path)

    def far_nm(self, trip: Trip) -> float:
        """Return how far from home a trip goes, in a straight line. [nm]"""
        table = self.file.airports()
        home, *away = (table.find(ident) for ident in dict.fromkeys(trip.stops))
        return max((float(haversine_nm(home.latitude_deg, home.longitude_deg, a.latitude_deg, a.longitude_deg))
                    for a in away), default=0.0)

    # Trips ---------------------------------------------------------------------------------------------------------

    def context(self) -> ListContext:
        """Return what reading a row needs; without a home nothing can be read.

        Raises
        ------
        RefusedError   The study has no home yet.
        """
        table = self.file.airports()
        home = self.file.get(["home"])
        if not isinstance(home, str):
            raise RefusedError([Fault(NAME, "home", "is not set yet", "where the aircraft lives, first")])
        airport = table.find(home)
        year = self.file.get(["year"])
        return ListContext(airport.ident, airport.timezone, table.find, self.file.assumptions(),
                           year if isinstance(year, int) else None, table.in_town)

    def _check_rows(self) -> None:
        self.row_faults = {}
        try:
            context = self.context()
        except MissionsimError:
            return
        read = [read_row(row, context) for row in self.rows]
        self.rows = [row for row, _ in read]
        self.row_faults = {row.ident: faults for row, faults in read if faults}

    def add_rows(self, rows: Sequence[Mapping[str, str]]) -> list[list[Fault]]:
        """Add the trips among some rows of text that can be read; return the faults of each.

        A row with faults is not added: the page keeps it in front of whoever typed it.
        """
        context, added, said = self.context(), list(self.rows), []
        for cells in rows:
            row, faults = read_row(TripRow(next_ident(added), _clean(cells)), context)
            said.append(faults)
            if not faults:
                added.append(row)
        if len(added) > len(self.rows):
            self._write_rows(added)
        return said

    def take(self, table: TripTable) -> None:
        """Add every trip of a table that was read from a dropped file; without a year the study takes the table's."""
        if self.file.get(["year"]) is None:
            self.file.put(["year"], table.year)
        context, added = self.context(), list(self.rows)
        for trip in as_rows(table):
            cells = {name: text for name, text in trip.items() if name not in {"trip_id", "from"}}
            row, faults = read_row(TripRow(next_ident(added), cells), context)
            if faults:
                raise RefusedError(faults)
            added.append(row)
        self._write_rows(added)

    def set_cell(self, ident: str, column: str, text: str, was: str | None = None) -> None:
        """Change one cell.

        Parameters
        ----------
        ident : str           Identifier of the trip table's row.
        column : str          Heading of the column, in our words.
        text : str            As typed.
        was : str, optional   What stood there when it was read; refused where it is another.

        Raises
        ------
        RefusedError          The row could then not be read, or it is not there any more.
        ChangedOutsideError   The cell is not what whoever typed saw.
        """
        i = self._place(ident)
        old = self.rows[i]
        if column not in SHOWN:
            raise RefusedError([Fault(NAME, column, "is no column of this table", ", ".join(SHOWN))])
        if was is not None and old.cells.get(column, "") != was.strip():
            raise ChangedOutsideError(f"this cell was changed elsewhere to {old.cells.get(column, '')!r}")
        row, faults = read_row(TripRow(ident, {**old.cells, **_clean({column: text})}), self.context())
        if faults:
            raise RefusedError(faults)
        self._write_rows([*self.rows[:i], row, *self.rows[i + 1:]])

    def remove_row(self, ident: str) -> None:
        """Take a trip out."""
        i = self._place(ident)
        self._write_rows([*self.rows[:i], *self.rows[i + 1:]])

    def _place(self, ident: str) -> int:
        for i, row in enumerate(self.rows):
            if row.ident == ident:
                return i
        raise RefusedError([Fault(NAME, ident, "is not in the list any more")])

    def _write_rows(self, rows: Sequence[TripRow]) -> None:
        path = self.folder / NAME
        own = self.file.get(["trips"]) == NAME
        if not own and path.exists():
            raise ChangedOutsideError(f"{NAME} is there already and is not this study's; move it away first")
        self.file.files.write(path, table_text(rows))
        self.rows = list(rows)
        self.row_faults = {ident: f for ident, f in self.row_faults.items() if any(r.ident == ident for r in rows)}
        if not own:
            self.file.put(["trips"], NAME)

    # The study as a whole ------------------------------------------------------------------------------------------

    def set_value(self, path: Sequence[str], text: str, was: str | None = None) -> list[Fault]:
        """Change one value of the study, see `StudyFile.set_value`."""
        still = self.file.set_value(path, text, was)
        if path[0] in {"home", "year"}:
            self._check_rows()
        return still

    def list_instead(self, often: bool) -> None:
        """Let the year be where one goes how often, or a list of trips; what is left has no entries of its own kind.

        Raises
        ------
        RefusedError   Rows of the way that is left are still there: they would be lost.
        """
        if often:
            self.file.put(["trips"], None)     # the list stays as a file
        elif self.file.get(["demand"]):
            raise RefusedError([Fault(self.file.path.name, "demand", "still has rows", "take them out first")])
        elif (self.folder / NAME).exists():
            self.file.put(["trips"], NAME)
        self._read()

    def add_entry(self, path: Sequence[str], cells: Mapping[str, str]) -> None:
        """Add an entry to a list of the study, see `StudyFile.add_entry`."""
        if path[0] == "demand" and self.file.get(["trips"]) is not None:
            raise RefusedError([Fault(self.file.path.name, "trips", "are a list",
                                      "either the list or how often: press the button above first")])
        self.file.add_entry(path, cells)

    def remove_entry(self, path: Sequence[str], number: int, was: str) -> None:
        """Take an entry out of a list of the study, see `StudyFile.remove_entry`."""
        self.file.remove_entry(path, number, was)

    def needs(self) -> list[str]:
        """Return, in words, what the study lacks before it can be flown."""
        lacking = [] if isinstance(self.file.get(["home"]), str) else ["where the aircraft lives"]
        if not self.rows and not self.file.get(["demand"]):
            of_members = self.file.get(["members"]) is not None
            lacking.append("trips of one's own; the members' are flown under Partnership" if of_members else "trips")
        return lacking + ([] if self.hangar.cards else ["an aircraft, better two"])

    def told(self, faults: Sequence[Fault]) -> list[str]:
        """Return faults in words, files of this folder by their names alone."""
        places = (f"{self.folder.resolve()}/", f"{self.folder}/")
        return [text.removeprefix(places[0]).removeprefix(places[1]) for text in told(faults)]

    def faults(self) -> list[Fault]:
        """Return everything the study's own rules refuse now; nothing while it still lacks a part."""
        if self.needs():
            return []
        try:
            self.study()
        except InputError as error:
            return list(error.faults)
        return []


def _studies(folder: Path) -> list[Path]:
    """Return the study files of a folder; those that extend another one of them belong to that."""
    found = sorted([*folder.glob("*.yaml"), *folder.glob("*.yml")])[:MOST_STUDIES]
    named = {path: data for path in found if "study" in (data := _data(path))}
    return [path for path, data in named.items()
            if not any(path.parent / str(data.get("extends")) == other for other in named)]


def _data(path: Path) -> Mapping[str, Any]:
    try:
        return read_yaml(path).data
    except InputError:
        return {}


def _clean(cells: Mapping[str, str]) -> dict[str, str]:
    return {name: " ".join(str(text).split())[:2_000] for name, text in cells.items() if name in SHOWN}


def _ours(text: str) -> bool:
    first = next((line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), "")
    names = [name.strip() for name in first.split(",")]
    return "date" in names and "to" in names
