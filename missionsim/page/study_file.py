"""The study file of a folder: read as the command line reads it, changed value by value, behind nobody's back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import Fault, MissionsimError
from missionsim.page.entries import FILES, PLACES, entry_words, parts_of, shown, typed
from missionsim.page.files import ChangedOutsideError, Files
from missionsim.page.yaml_file import parsed, value_at, with_value
from missionsim.study.inputs.faults import faults_of
from missionsim.study.inputs.files import TextFile, is_file
from missionsim.study.inputs.load_airports import load_airports
from missionsim.study.inputs.load_study import study_assumptions
from missionsim.study.inputs.overlays import Layers, read_layers
from missionsim.study.inputs.places import places_in
from missionsim.study.inputs.schema import StudySpec
from missionsim.study.inputs.yaml_lines import YamlDocument, dotted, parse_yaml
from missionsim.world.airports.table import AirportTable
from missionsim.world.airports.towns import field_words

NEW_STUDY = """\
# A study kept by the page of missionsim. Edit it as you like, too: comments and order stay.
study: my flying
"""


class RefusedError(MissionsimError):
    """A change that is not accepted: nothing was written.

    Parameters
    ----------
    faults : sequence of Fault
    """

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


class StudyFile:
    """A study file as the page edits it; it need not be there yet."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.folder = path.parent
        self.files = Files()
        self.read()

    def read(self) -> None:
        """Read it as it is now."""
        self.files = Files(self.files.changes + 1)
        self.text = self.files.read(self.path) or NEW_STUDY
        self._airports: AirportTable | None = None
        parsed(self.text, self.path.name)

    def get(self, path: Sequence[str]) -> Any:
        """Return a value of the study, files it extends included."""
        return value_at(self.layers().data, path)

    def airports(self) -> AirportTable:
        """Return the airports, with the user's own corrections."""
        if self._airports is None:
            self._airports = load_airports(self.layers(), self.assumptions(), [])
        return self._airports

    def assumptions(self) -> Assumptions:
        """Return the assumptions, with those that the study replaces."""
        return study_assumptions(self.layers(), [])

    def layers(self) -> Layers:
        """Return the study with the files it extends."""
        if self.path.is_file():
            return read_layers(self.path)
        alone = document(self.path, self.text)
        return Layers((alone,), alone.data)

    def set_value(self, path: Sequence[str], text: str, was: str | None = None) -> list[Fault]:
        """Change one value of the study; return what of the parts around it did not fit before and does not now.

        Raises
        ------
        RefusedError          It is not accepted; nothing is written.
        ChangedOutsideError   It is not what whoever typed saw.
        """
        if was is not None and shown(self.get(path)) != was.strip():
            raise ChangedOutsideError(f"this was changed elsewhere to {shown(self.get(path))!r}")
        value = self._typed(path[-1], text)
        if path[-1] in FILES and value is not None and not is_file(self.folder / str(value)):
            raise RefusedError([Fault(self.path.name, path[-1], "is no file in this folder",
                                      "one such as aircraft/one.yaml")])
        still = self._refuse_new_faults(path, value)
        self.put(path, value)
        return still

    def add_entry(self, path: Sequence[str], cells: Mapping[str, str]) -> None:
        """Add an entry to a list of tables; its cells are text as typed, empty ones left out.

        Raises
        ------
        RefusedError   It is not accepted; nothing is written.
        """
        entry: dict[str, Any] = {}
        for key, text in cells.items():
            if (value := self._typed(key.split(".")[-1], text)) is not None:
                inner = entry
                for part in key.split(".")[:-1]:
                    inner = inner.setdefault(part, {})
                inner[key.split(".")[-1]] = value
        entry = _with_lists(entry)
        there = self.get(path)
        if there and value_at(parsed(self.text, self.path.name), path) is None:    # a list of a file that this extends
            self._refuse_new_faults(path, [*there, entry])
            self.put(path, [*there, entry])
            return
        place = [*path, str(len(there or ()))]
        if not there:
            self._refuse_new_faults(path, [entry])
            self.put(path, [entry])
        else:
            self._refuse_new_faults(place, entry)
            self.put(place, entry)

    def remove_entry(self, path: Sequence[str], number: int, was: str) -> None:
        """Take an entry out of a list of tables.

        Parameters
        ----------
        path : sequence of str   Of the list.
        number : int             From 0.
        was : str                What whoever asks saw of it, see `entry_words`.
        """
        there = self.get(path) or []
        if not 0 <= number < len(there) or entry_words(there[number]) != was:
            raise ChangedOutsideError("this list was changed elsewhere")
        left = [*there[:number], *there[number + 1:]]
        self.put(path, left or None)

    def _typed(self, key: str, text: str) -> Any:
        if key not in PLACES or not text.strip():
            value = typed(key, text)
            return {self._airport(key, str(k)): v for k, v in value.items()} if key == "fuel_at" and isinstance(
                value, dict) else value
        if key == "home":
            return self._airport(key, text)
        found = [self._airport(key, part) for part in parts_of(text)]
        return found[0] if len(found) == 1 else found

    def home_words(self) -> str:
        """Return which airport home is and what kind of field; empty while there is none that is known."""
        home = self.get(["home"])
        try:
            airport = self.airports().find(home) if isinstance(home, str) else None
        except MissionsimError:
            airport = None
        return "" if airport is None else f"{airport.ident}, {airport.name}: {field_words(airport)}"

    def read_as(self, text: str) -> str:
        """Return which field of a town a cell is read as; empty where it names none."""
        table = self.airports()
        return "; ".join(places_in(text.strip(), table.find, table.in_town, offer=False).notes)

    def _airport(self, key: str, text: str) -> str:
        """Return the airport that an identifier or a town names: a town's main one."""
        table = self.airports()
        found = places_in(text.strip(), table.find, table.in_town)
        if not found.airports:
            raise RefusedError([Fault(self.path.name, key, f"no airport {text.strip()[:60]!r} is known",
                                      "an airport's identifier, or a town such as Omaha, NE", found.near)])
        return str(found.airports[0].ident)

    def _refuse_new_faults(self, path: Sequence[str], value: Any) -> list[Fault]:
        """Refuse a value that the study's own rules do not take; return what is still wrong with the parts around it.

        Two values that do not fit together are put right one after the other, so that the first is not refused.
        """
        key = dotted(tuple(int(part) if part.isdigit() else part for part in path))
        before = {(f.key, f.what) for f in self._faults(self.text)}
        faults = self._faults(with_value(self.text, self.path.name, path, value))
        around = [f for f in faults if f.key and key.startswith((f"{f.key}.", f"{f.key}["))]
        mine = [f for f in faults if (f.key, f.what) not in before and (
            f in around or (f.key and f"{f.key}.".startswith((f"{key}.", f"{key}["))))]
        if mine:
            raise RefusedError(mine)
        return around

    def _faults(self, text: str) -> list[Fault]:
        read = document(self.path, text)
        try:
            StudySpec.model_validate(read.data)
        except ValidationError as error:
            return faults_of(error, read, StudySpec)
        return []

    def put(self, path: Sequence[str], value: Any) -> None:
        """Write one value, already found good; None takes its key out."""
        text = with_value(self.text, self.path.name, path, value)
        self.files.write(self.path, text)
        self.text = text
        self._airports = None


def _with_lists(data: Any) -> Any:
    """Return tables whose keys are figures in words as the lists they stand for."""
    if not isinstance(data, dict):
        return data
    inner = {key: _with_lists(value) for key, value in data.items()}
    return list(inner.values()) if inner and all(isinstance(k, str) and k.isdigit() for k in inner) else inner


def document(file: Path, text: str) -> YamlDocument:
    """Return a text as if it stood in the file."""
    return parse_yaml(TextFile(file, file.name, text, ""))
