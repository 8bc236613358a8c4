"""The study file of a folder: read as the command line reads it, changed value by value, behind nobody's back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import Fault, MissionsimError
from missionsim.page.figures import figure, shown
from missionsim.page.files import ChangedOutsideError, Files
from missionsim.page.yaml_file import parsed, value_at, with_value
from missionsim.study.inputs.faults import faults_of
from missionsim.study.inputs.files import TextFile
from missionsim.study.inputs.load_airports import load_airports
from missionsim.study.inputs.overlays import Layers, read_layers
from missionsim.study.inputs.places import places_in
from missionsim.study.inputs.schema import StudySpec
from missionsim.study.inputs.yaml_lines import YamlDocument, parse_yaml
from missionsim.world.airports.table import AirportTable

NEW_STUDY = """\
# A study kept by the page of missionsim. Edit it as you like, too: comments and order stay.
study: my flying
"""
WORDS = frozenset({"study", "question"})
"""Values that are words whatever they look like."""


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
            self._airports = load_airports(self.layers(), packaged_assumptions(), [])
        return self._airports

    def layers(self) -> Layers:
        """Return the study with the files it extends."""
        if self.path.is_file():
            return read_layers(self.path)
        alone = document(self.path, self.text)
        return Layers((alone,), alone.data)

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
        value = text.strip() if path[-1] in WORDS else figure(text)
        if list(path) == ["home"]:
            value = self._home(text)
        self._refuse_new_faults(path, value)
        self.put(path, value)

    def _home(self, text: str) -> str:
        """Return the airport that an identifier or a town names: a town's main one."""
        table = self.airports()
        found = places_in(text.strip(), table.find, table.in_town)
        if not found.airports:
            raise RefusedError([Fault(self.path.name, "home", f"no airport {text.strip()[:60]!r} is known",
                                      "an airport's identifier, or a town such as Omaha, NE", found.near)])
        return str(found.airports[0].ident)

    def _refuse_new_faults(self, path: Sequence[str], value: Any) -> None:
        """Refuse a value that the study's own rules do not take; what else is wrong or missing is told elsewhere."""
        changed = document(self.path, with_value(self.text, self.path.name, path, value))
        try:
            StudySpec.model_validate(changed.data)
        except ValidationError as error:
            mine = [f for f in faults_of(error, changed, StudySpec) if f.key == ".".join(path)]
            if mine:
                raise RefusedError(mine) from None

    def put(self, path: Sequence[str], value: Any) -> None:
        """Write one value, already found good; None takes its key out."""
        text = with_value(self.text, self.path.name, path, value)
        self.files.write(self.path, text)
        self.text = text
        self._airports = None


def document(file: Path, text: str) -> YamlDocument:
    """Return a text as if it stood in the file."""
    return parse_yaml(TextFile(file, file.name, text, ""))
