"""What every part of a study is read with: the file and those it extends, airports, assumptions, faults so far."""

from __future__ import annotations

from dataclasses import dataclass, field

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import MOST_TOLD, Fault, MissionsimError
from missionsim.study.inputs.beyond_weather import STATION_FILE, Unflyable
from missionsim.study.inputs.overlays import Layers
from missionsim.study.inputs.yaml_lines import KeyPath
from missionsim.world.airports.table import Airport, AirportTable


@dataclass
class StudyReading:
    """What parts of a study are read with; faults are added as they are found.

    `home`: None where the study names an unknown one; the rest is checked all the same. `unflyable`: says why an
    airport cannot be flown to, nothing where it can.
    """

    layers: Layers
    airports: AirportTable
    assumptions: Assumptions
    home: Airport | None = None
    unflyable: Unflyable | None = None
    faults: list[Fault] = field(default_factory=list)

    def fault(self, where: KeyPath, what: str, accepted: str = "", near: str = "") -> None:
        """Add a fault.

        Parameters
        ----------
        where : KeyPath             Keys of the value.
        what, accepted, near : str  What is wrong, what would do, and what may have been meant.
        """
        self.faults.append(self.layers.fault(where, what, accepted, near))

    def found(self, where: KeyPath, ident: str) -> Airport | None:
        """Return the airport of an identifier in the study, None with a fault where there is none.

        `where`: the keys of the value.
        """
        try:
            return self.airports.find(ident)
        except MissionsimError as error:
            near = str(getattr(error, "near", "")) if len(self.faults) < MOST_TOLD else ""
            self.fault(where, f"no airport {ident!r} is known", "an ICAO, FAA or IATA identifier, or one under "
                       "`airports`", near)
            return None

    def flyable(self, where: KeyPath, ident: str) -> Airport | None:
        """Return the airport of an identifier as `found`, with a fault where its weather is not known."""
        place = self.found(where, ident)
        if place is not None:
            self.check_weather(where, place)
        return place

    def check_weather(self, where: KeyPath, place: Airport) -> None:
        """Add a fault where the weather of a place is not known."""
        if self.unflyable is not None and (why := self.unflyable(place)):
            self.fault(where, f"{place.ident}: {why}", STATION_FILE)
