"""The folder of one study as the page edits it: every accepted change is on disk before it is shown as accepted."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import Fault, InputError, MissionsimError
from missionsim.page.figures import figure, shown
from missionsim.page.files import ChangedOutsideError, Files
from missionsim.page.trip_table import NAME, SHOWN, TripRow, next_ident, read_row, rows_of, table_text
from missionsim.page.yaml_file import parsed, value_at, with_value
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.inputs.faults import faults_of
from missionsim.study.inputs.files import TextFile
from missionsim.study.inputs.load_airports import load_airports
from missionsim.study.inputs.load_study import Study, load_study
from missionsim.study.inputs.overlays import Layers, read_layers
from missionsim.study.inputs.schema import StudySpec
from missionsim.study.inputs.trip_list import ListContext, as_rows
from missionsim.study.inputs.yaml_lines import YamlDocument, parse_yaml, read_yaml
from missionsim.world.airports.table import AirportTable
from missionsim.year.trips import Trip

NEW_FOLDER = "my_flying"
NEW_STUDY = """\
# A study kept by the page of missionsim. Edit it as you like, too: comments and order stay.
study: my flying
"""
MOST_STUDIES = 200


class RefusedError(MissionsimError):
    """A change that is not accepted: nothing was written.

    Parameters
    ----------
    faults : sequence of Fault
    """

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


@dataclass(frozen=True)
class Card:
    """One aircraft of the study as its file says it."""

    key: str
    name: str
    file: Path
    text: str

    @property
    def data(self) -> Any:
        """The file as plain tables."""
        return parsed(self.text, self.file.name)


class StudyFolder:
    """A study file, its trips and its aircraft; the page owns nothing outside the study's folder.

    Files that a study names elsewhere are copied into the folder before they are changed.
    """

    def __init__(self, study_file: Path) -> None:
        self.study_file = study_file
        self.folder = study_file.parent
        self.files = Files()
        self.text = ""
        self.rows: list[TripRow] = []
        self.row_faults: dict[str, list[Fault]] = {}
        self.cards: list[Card] = []
        self.revision = 0
        self.reload()

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

    def reload(self) -> None:
        """Read every file again, as it is now."""
        self._table: AirportTable | None = None
        self.files = Files()
        self.text = self.files.read(self.study_file) or NEW_STUDY
        parsed(self.text, self.study_file.name)
        self.rows, self.cards = [], []
        if self.study_file.is_file():
            layers = read_layers(self.study_file)
            self.cards = [card for i, item in enumerate(layers.data.get("candidates") or [])
                          if (card := self._card(layers, i, item)) is not None]
            self.rows = self._listed(layers)
        self._check_rows()
        self.revision += 1

    def refreshed(self) -> bool:
        """Read again if another program has changed a file; tell whether it has."""
        if not self.files.changed_outside():
            return False
        self.reload()
        return True

    def _card(self, layers: Layers, i: int, item: Any) -> Card | None:
        named = item.get("aircraft") if isinstance(item, dict) else item
        if not isinstance(named, str):
            return None
        path, _ = layers.resolve(("candidates", i), named)
        text = self.files.read(path)
        if text is None:
            return None
        name = parsed(text, path.name).get("name")
        return Card(f"a{i + 1}", str((isinstance(item, dict) and item.get("name")) or name or path.stem), path, text)

    def _listed(self, layers: Layers) -> list[TripRow]:
        named = layers.data.get("trips")
        if named is None:
            return []
        if isinstance(named, str):
            path, _ = layers.resolve(("trips",), named)
            text = self.files.read(path)
            if text is not None and _ours(text):
                return rows_of(text)
        try:     # a table in somebody's own form: shown as it was read, kept as ours once it is changed
            listed = load_study(self.study_file).listed
        except InputError:
            return []
        return [] if listed is None else [TripRow(row.pop("trip_id"), row) for row in as_rows(listed)]

    def get(self, path: Sequence[str]) -> Any:
        """Return a value of the study, files it extends included."""
        return value_at(self._layers().data, path)

    def study(self) -> Study:
        """Return the study as the command line would load it.

        Raises
        ------
        InputError   With every fault.
        """
        if not self.study_file.is_file():
            raise InputError([Fault(self.study_file.name, "", "nothing is in it yet")])
        return load_study(self.study_file)

    def airports(self) -> AirportTable:
        """Return the airports, with the user's own corrections."""
        return load_airports(self._layers(), packaged_assumptions(), [])

    def _layers(self) -> Layers:
        if self.study_file.is_file():
            return read_layers(self.study_file)
        document = _document(self.study_file, self.text)
        return Layers((document,), document.data)

    def far_nm(self, trip: Trip) -> float:
        """Return how far from home a trip goes, in a straight line. [nm]"""
        table = self._table or self.airports()
        self._table = table
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
        table = self.airports()
        home = self.get(["home"])
        if not isinstance(home, str):
            raise RefusedError([Fault(NAME, "home", "is not set yet", "where the aircraft lives, first")])
        airport = table.find(home)
        year = self.get(["year"])
        return ListContext(airport.ident, airport.timezone, table.find, packaged_assumptions(),
                           year if isinstance(year, int) else None)

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

    def set_cell(self, ident: str, column: str, text: str, was: str | None = None) -> None:
        """Change one cell.

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
            msg = f"this cell was changed elsewhere to {old.cells.get(column, '')!r}"
            raise ChangedOutsideError(msg)
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
        own = self.get(["trips"]) == NAME
        if not own and path.exists():
            msg = f"{NAME} is there already and is not this study's; move it away first"
            raise ChangedOutsideError(msg)
        self.files.write(path, table_text(rows))
        self.rows = list(rows)
        self.row_faults = {ident: f for ident, f in self.row_faults.items() if any(r.ident == ident for r in rows)}
        if not own:
            self._set_study(["trips"], NAME)
        self.revision += 1

    # Study file ----------------------------------------------------------------------------------------------------

    def set_value(self, path: Sequence[str], text: str, was: str | None = None) -> None:
        """Change one value of the study.

        Raises
        ------
        RefusedError          It is not accepted; nothing is written.
        ChangedOutsideError   It is not what whoever typed saw.
        """
        if was is not None and shown(self.get(path)) != was.strip():
            msg = f"this was changed elsewhere to {shown(self.get(path))!r}"
            raise ChangedOutsideError(msg)
        value = text.strip() if path[-1] in {"study", "question", "home"} else figure(text)
        if list(path) == ["home"]:
            value = self._home(text)
        self._refuse_new_faults(path, value)
        self._set_study(path, value)
        if path[0] in {"home", "year"}:
            self._check_rows()
        self.revision += 1

    def _home(self, text: str) -> str:
        try:
            return self.airports().find(text.strip()).ident
        except MissionsimError as error:
            near = str(getattr(error, "near", ""))
            raise RefusedError([Fault(self.study_file.name, "home", f"no airport {text.strip()!r} is known",
                                      "an airport's identifier", near)]) from None

    def _refuse_new_faults(self, path: Sequence[str], value: Any) -> None:
        """Refuse a value that the study's own rules do not take; what else is wrong or missing is told elsewhere."""
        document = _document(self.study_file, with_value(self.text, self.study_file.name, path, value))
        try:
            StudySpec.model_validate(document.data)
        except ValidationError as error:
            mine = [f for f in faults_of(error, document, StudySpec) if f.key == ".".join(path)]
            if mine:
                raise RefusedError(mine) from None

    def _set_study(self, path: Sequence[str], value: Any) -> None:
        text = with_value(self.text, self.study_file.name, path, value)
        self.files.write(self.study_file, text)
        self.text = text

    # Aircraft ------------------------------------------------------------------------------------------------------

    def add_aircraft(self, text: str) -> Card:
        """Add an aircraft from the text of a file that describes it; what is missing is told on its card."""
        data = parsed(text, "the new aircraft")
        name = str(data.get("name") or "").strip()
        if not name:
            raise RefusedError([Fault("the new aircraft", "name", "is missing", "what you call it")])
        if any(card.name == name for card in self.cards):
            raise RefusedError([Fault("the new aircraft", "name", f"{name!r} is there already", "another name")])
        path = self._free(name)
        self.files.read(path)
        self.files.write(path, text if text.endswith("\n") else text + "\n")
        named = path.relative_to(self.folder).as_posix()
        self._set_study(["candidates"], [*(self._candidates()), named])
        self.reload()
        return next(card for card in self.cards if card.file == path)

    def set_figure(self, key: str, path: Sequence[str], text: str, was: str | None = None) -> None:
        """Change one figure of an aircraft.

        Raises
        ------
        RefusedError          It is not accepted; nothing is written.
        ChangedOutsideError   It is not what whoever typed saw.
        """
        card = self.card(key)
        if was is not None and shown(value_at(card.data, path)) != was.strip():
            msg = f"this was changed elsewhere to {shown(value_at(card.data, path))!r}"
            raise ChangedOutsideError(msg)
        changed = with_value(card.text, card.file.name, path, figure(text))
        mine = [f for f in profile_faults(changed, card.file) if f.key == ".".join(path)]
        if mine:
            raise RefusedError(mine)
        self._write_card(card, changed)

    def remove_aircraft(self, key: str) -> None:
        """Take an aircraft out of the study; its file stays."""
        card = self.card(key)
        i = self.cards.index(card)
        items = self._candidates()
        self._set_study(["candidates"], [*items[:i], *items[i + 1:]] or None)
        self.reload()

    def card(self, key: str) -> Card:
        """Return an aircraft by its key."""
        for card in self.cards:
            if card.key == key:
                return card
        raise RefusedError([Fault(self.study_file.name, key, "is not in the study any more")])

    def _write_card(self, card: Card, text: str) -> None:
        if self.folder.resolve() in card.file.resolve().parents:
            self.files.write(card.file, text)
            self.cards[self.cards.index(card)] = replace(card, text=text)
        else:    # somebody else's file: ours is a copy
            path = self._free(card.name)
            self.files.read(path)
            self.files.write(path, text)
            items, i = self._candidates(), self.cards.index(card)
            named: Any = path.relative_to(self.folder).as_posix()
            items[i] = {**items[i], "aircraft": named} if isinstance(items[i], dict) else named
            self._set_study(["candidates"], items)
            self.reload()
        self.revision += 1

    def _candidates(self) -> list[Any]:
        items = self.get(["candidates"])
        return list(items) if isinstance(items, list) else []

    def _free(self, name: str) -> Path:
        stem = re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_")[:60] or "aircraft"
        names = (stem, *(f"{stem}_{i}" for i in range(2, 1000)))
        return next(path for n in names if not (path := self.folder / "aircraft" / f"{n}.yaml").exists())

    # What is still needed ------------------------------------------------------------------------------------------

    def needs(self) -> list[str]:
        """Return, in words, what the study lacks before it can be flown."""
        lacking = [] if isinstance(self.get(["home"]), str) else ["where the aircraft lives"]
        if not self.rows and not self.get(["demand"]) and not self.get(["members"]):
            lacking.append("trips")
        return lacking + ([] if self.cards else ["an aircraft, better two"])

    def faults(self) -> list[Fault]:
        """Return everything the study's own rules refuse now; nothing while it still lacks a part."""
        if self.needs():
            return []
        try:
            self.study()
        except InputError as error:
            return list(error.faults)
        return []


def profile_faults(text: str, file: Path) -> list[Fault]:
    """Return what is wrong with an aircraft file, or missing in it."""
    try:
        Profile.model_validate(_document(file, text).data)
    except ValidationError as error:
        return faults_of(error, _document(file, text), Profile)
    return []


def _document(file: Path, text: str) -> YamlDocument:
    return parse_yaml(TextFile(file, file.name, text, ""))


def _studies(folder: Path) -> list[Path]:
    """Return the study files of a folder: those with candidates or a home at the top."""
    found = sorted([*folder.glob("*.yaml"), *folder.glob("*.yml")])[:MOST_STUDIES]
    return [path for path in found if _is_study(path)]


def _is_study(path: Path) -> bool:
    try:
        data = read_yaml(path).data
    except InputError:
        return False
    return "study" in data


def _clean(cells: Mapping[str, str]) -> dict[str, str]:
    return {name: " ".join(str(text).split())[:2_000] for name, text in cells.items() if name in SHOWN}


def _ours(text: str) -> bool:
    first = next((line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), "")
    names = [name.strip() for name in first.split(",")]
    return "date" in names and "to" in names
