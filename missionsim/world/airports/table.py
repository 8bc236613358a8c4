"""Airports and their runways, found by any identifier people type or by where they are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import MissionsimError
from missionsim.physics.geodesy import MEAN_RADIUS_NM, haversine_nm, unit_vectors
from missionsim.world import data
from missionsim.world.airports import corrections as airport_corrections
from missionsim.world.airports import search as airport_search
from missionsim.world.airports import towns
from missionsim.world.airports.records import APPROACH_RANK, APPROACHES, SURFACES, Airport, RunwayEnd
from missionsim.world.airports.towns import TownFields

__all__ = ["APPROACHES", "APPROACH_RANK", "SURFACES", "Airport", "AirportTable", "RunwayEnd", "TownFields",
           "UnknownPlace"]

_PAVED = SURFACES.index("paved")


class UnknownPlace(MissionsimError, LookupError):  # noqa: N818  (says what it is)
    """No airport has this identifier.

    Parameters
    ----------
    ident : str                What was asked for.
    look_alike : callable      Returns an identifier that exists and looks alike, or an empty string.
    """

    def __init__(self, ident: str, look_alike: Callable[[str], str] = lambda _: "") -> None:
        self.ident, self._look_alike = ident, look_alike
        super().__init__(ident)

    @cached_property
    def near(self) -> str:
        """An identifier that exists and looks alike, or an empty string; looked for when asked, as few are."""
        return self._look_alike(self.ident)

    def __str__(self) -> str:
        return f"no airport {self.ident!r:.60} is known" + (f". Did you mean {self.near!r}?" if self.near else "")


@dataclass(frozen=True)
class AirportTable:
    """Every airport, as columns for searches and as single `Airport` records. Rows never move once built.

    Parameters
    ----------
    arrays : mapping of arrays         As made by `world.airport_source.reduce_tables`.
    assumptions : Assumptions          The group `airport` fills what open data lacks.
    own : mapping of int to Airport    Airports the user corrected (their row) or added (rows past the arrays).
    """

    arrays: Mapping[str, np.ndarray] = field(repr=False)
    assumptions: Assumptions = field(repr=False)
    own: Mapping[int, Airport] = field(default_factory=dict)

    @classmethod
    def packaged(cls, assumptions: Assumptions) -> AirportTable:
        """Return the table that comes with the package."""
        return cls(data.airport_arrays(), assumptions)

    def __len__(self) -> int:
        return self._listed + sum(i >= self._listed for i in self.own)

    def index(self, ident: str) -> int:
        """Return the row of an airport by any identifier; case and surrounding blanks do not matter.

        Where several airports share an identifier, ICAO goes before the table's own identifier, before US local
        codes, before IATA. The user's own identifiers go before all.

        Raises
        ------
        UnknownPlace   With a near match, if there is one.
        """
        word = ident.strip().upper()
        if word in self._own_codes:
            return self._own_codes[word]
        row = airport_search.row_of_code(self.arrays["code"], word)
        if row is None:
            raise UnknownPlace(ident, self.near)
        return int(self.arrays["code_airport"][row])

    def find(self, ident: str) -> Airport:
        """Return an airport by any identifier; raises `UnknownPlace` as `index` does."""
        return self.airport(self.index(ident))

    def in_town(self, town: str, state: str = "") -> TownFields | None:
        """Return the airports of a town, the one that a light aircraft would use first; None where no town is so named.

        Parameters
        ----------
        town : str    As people write it.
        state : str   Two letters of a state or region, or empty for any.
        """
        rows = airport_search.rows_in_town(town, state, self.arrays)
        if not rows:
            return None
        own = airport_search.own_rows(town, self.arrays)
        runway_ft, within_nm = self.assumptions["airport.town_runway_ft"], self.assumptions["airport.town_field_nm"]
        found = towns.in_order([self.airport(i) for i in rows], [i in own for i in rows], runway_ft, within_nm)
        if found[0].public and found[0].size < towns.HUB:
            return TownFields(found)
        near = self.within(found[0].latitude_deg, found[0].longitude_deg, within_nm)
        return TownFields(found, towns.around(found, [self.airport(i) for i in near], runway_ft))

    def matching(self, text: str, most: int = 12) -> list[tuple[Airport, str]]:
        """Return airports that what is being typed may mean, each with its town, the user's own first without one."""
        words = text.strip().casefold()
        own = [a for a in self.own.values() if len(words) > 1 and (words in a.name.casefold() or any(
            n.casefold().startswith(words) for n in a.names))]
        rows = airport_search.rows_matching(text, most, self.arrays)
        towns = airport_search.towns_of(rows, self.arrays)
        return [*((a, "") for a in own), *((self.airport(i), town) for i, town in zip(rows, towns, strict=True)
                                           if i not in self.own)][:most]

    def near(self, ident: str) -> str:
        """Return the identifier of an airport that a misspelt identifier or a town's name may have meant."""
        own = airport_search.near_own(ident, list(self._own_codes))
        return own or airport_search.near_code(ident, self.arrays)

    def airport(self, i: int) -> Airport:
        """Return the airport in row i."""
        i = int(i)
        return self.own[i] if i in self.own else self._listed_airport(i)

    def with_corrections(self, corrections: Mapping[str, Mapping[str, Any]]) -> AirportTable:
        """Return a table with the user's corrected and added airports.

        Parameters
        ----------
        corrections : mapping   Identifier to fields, already validated; names in `airport_corrections.KEYS`.
                                An identifier the table does not know makes a new airport, which needs
                                latitude_deg, longitude_deg and elevation_ft.
        """
        own, rows = dict(self.own), len(self)
        for ident, fields in corrections.items():
            try:
                row = self.index(ident)
            except UnknownPlace:
                row, rows = rows, rows + 1
            if row in own or row < self._listed:
                own[row] = airport_corrections.corrected(self.airport(row), fields, ident, self.assumptions)
            else:
                own[row] = airport_corrections.added(ident, fields, self._like(fields), self.assumptions)
        return replace(self, own=own)

    def within(self, latitude_deg: float, longitude_deg: float, radius_nm: float) -> np.ndarray:
        """Return the rows of airports within a radius, nearest first."""
        rows = self._about(unit_vectors(latitude_deg, longitude_deg)[0], radius_nm)
        distance = haversine_nm(latitude_deg, longitude_deg, self.latitude_deg[rows], self.longitude_deg[rows])
        return _nearest_first(rows, distance, radius_nm)

    def corridor(self, lat1: float, lon1: float, lat2: float, lon2: float, max_ratio: float = 1.15) -> np.ndarray:
        """Return the rows of airports by which the way is at most max_ratio times the direct one, shortest first.

        Parameters
        ----------
        lat1 : float        Latitude of the start. [deg]
        lon1 : float        Longitude of the start. [deg]
        lat2 : float        Latitude of the end. [deg]
        lon2 : float        Longitude of the end. [deg]
        max_ratio : float   Way over direct distance.
        """
        longest_nm = float(max_ratio * haversine_nm(lat1, lon1, lat2, lon2))
        # From the middle of the straight way it is no farther to a place than half the way by it.
        rows = self._about(unit_vectors((lat1, lat2), (lon1, lon2)).sum(axis=0), 0.5 * longest_nm)
        lat, lon = self.latitude_deg[rows], self.longitude_deg[rows]
        around = haversine_nm(lat1, lon1, lat, lon) + haversine_nm(lat2, lon2, lat, lon)
        return _nearest_first(rows, around, longest_nm)

    def _about(self, vector: np.ndarray, radius_nm: float) -> np.ndarray:
        """Return the rows within a little more than a radius of a direction from the earth's centre, in order."""
        length, angle = float(np.sqrt(vector @ vector)), (radius_nm + 1.0) / MEAN_RADIUS_NM
        if length < 1e-3 or angle >= np.pi:  # no direction, or the whole globe
            return np.arange(len(self))
        return np.flatnonzero(self._unit_vectors @ (vector / length) >= np.cos(angle))

    @cached_property
    def _unit_vectors(self) -> np.ndarray:
        return unit_vectors(self.latitude_deg, self.longitude_deg)

    # Columns, one value a row, the user's airports included.

    @cached_property
    def latitude_deg(self) -> np.ndarray:
        """Latitude in degrees."""
        return self._with_own(self.arrays["latitude_microdeg"] * 1e-6, lambda a: a.latitude_deg)

    @cached_property
    def longitude_deg(self) -> np.ndarray:
        """Longitude in degrees, west negative."""
        return self._with_own(self.arrays["longitude_microdeg"] * 1e-6, lambda a: a.longitude_deg)

    @cached_property
    def elevation_ft(self) -> np.ndarray:
        """Elevation above sea level in feet."""
        return self._with_own(self.arrays["elevation_ft"].astype(float), lambda a: a.elevation_ft)

    @cached_property
    def longest_paved_ft(self) -> np.ndarray:
        """Length of the longest paved runway in feet, 0 without one."""
        return self._with_own(self._longest(self._paved), lambda a: a.longest_ft(("paved",)))

    @cached_property
    def longest_lighted_paved_ft(self) -> np.ndarray:
        """Length of the longest lighted paved runway in feet, 0 without one."""
        return self._with_own(self._longest(self._paved & self.arrays["end_lighted"]),
                              lambda a: a.longest_ft(("paved",), lighted=True))

    @cached_property
    def longest_ft(self) -> np.ndarray:
        """Length of the longest runway of any surface in feet, 0 without one."""
        return self._with_own(self._longest(np.ones(self._paved.shape, bool)), lambda a: a.longest_ft(SURFACES))

    @cached_property
    def has_fuel(self) -> np.ndarray:
        """Whether fuel is sold, by assumption where the user says nothing."""
        listed = self.arrays["public"] & (self._longest(self._paved) >= self.assumptions["airport.fuel_paved_ft"])
        return self._with_own(listed, lambda a: a.has_fuel)

    @cached_property
    def approach_rank(self) -> np.ndarray:
        """Row of `APPROACHES` of the best approach: 0 none to 4 ils."""
        lighted = self._longest(self._paved & self.arrays["end_lighted"]) * self.arrays["public"]
        listed = airport_corrections.assumed_approach_rank(self.arrays["size"], lighted, self.assumptions)
        return self._with_own(listed, lambda a: APPROACH_RANK[a.approach])

    @cached_property
    def public(self) -> np.ndarray:
        """Whether the airport is open to everybody, as its identifier and name suggest."""
        return self._with_own(self.arrays["public"], lambda a: a.public)

    @property
    def _listed(self) -> int:
        return int(self.arrays["ident"].size)

    @property
    def _paved(self) -> np.ndarray:
        return np.asarray(self.arrays["end_surface"] == _PAVED)

    @cached_property
    def _own_codes(self) -> dict[str, int]:
        return {name: i for i, airport in self.own.items() for name in (airport.ident, *airport.names)}

    @cached_property
    def _names(self) -> list[str]:
        return self.arrays["name"].tobytes().decode("utf-8").split("\n")

    def _longest(self, counts: np.ndarray) -> np.ndarray:
        """Return per listed airport the longest runway among the ends that count."""
        ends = np.where(counts, self.arrays["end_length_ft"], 0).astype(float)
        running = np.zeros(self._listed)
        owner = np.repeat(np.arange(self._listed), np.diff(self.arrays["first_end"]))
        np.maximum.at(running, owner, ends)
        return running

    def _with_own(self, listed: np.ndarray, value: Any) -> np.ndarray:
        column = np.concatenate([listed, np.zeros(len(self) - self._listed, dtype=listed.dtype)])
        for i, airport in self.own.items():
            column[i] = value(airport)
        column.setflags(write=False)
        return column

    def _listed_airport(self, i: int) -> Airport:
        arrays = self.arrays
        ends = tuple(self._end(k) for k in range(int(arrays["first_end"][i]), int(arrays["first_end"][i + 1])))
        names = tuple(c.decode() for c in arrays["code"][arrays["code_airport"] == i])
        airport = Airport(
            ident=arrays["ident"][i].decode(), names=names, name=self._names[i],
            latitude_deg=float(arrays["latitude_microdeg"][i]) * 1e-6,
            longitude_deg=float(arrays["longitude_microdeg"][i]) * 1e-6, elevation_ft=float(arrays["elevation_ft"][i]),
            region=arrays["region_names"][arrays["region"][i]].decode(),
            timezone=arrays["timezone_names"][arrays["timezone"][i]].decode(),
            declination_deg=float(arrays["declination_cdeg"][i]) * 0.01, ends=ends, size=int(arrays["size"][i]),
            public=bool(arrays["public"][i]))
        guessed = () if arrays["elevation_known"][i] else ("elevation_ft",)
        return airport_corrections.with_assumed_services(airport, self.assumptions, guessed)

    def _end(self, k: int) -> RunwayEnd:
        arrays = self.arrays
        length = float(arrays["end_length_ft"][k])
        return RunwayEnd(
            ident=arrays["end_ident"][k].decode(), heading_deg=float(arrays["end_heading_ddeg"][k]) * 0.1,
            length_ft=length, landing_length_ft=length - float(arrays["end_displaced_ft"][k]),
            width_ft=float(arrays["end_width_ft"][k]) or None, surface=SURFACES[arrays["end_surface"][k]],
            lighted=bool(arrays["end_lighted"][k]))

    def _like(self, fields: Mapping[str, Any]) -> Airport:
        """Return the listed airport nearest to a new one, for its time zone, declination and region."""
        distance = haversine_nm(fields["latitude_deg"], fields["longitude_deg"],
                                self.latitude_deg[: self._listed], self.longitude_deg[: self._listed])
        return self.airport(int(np.argmin(distance)))


def _nearest_first(rows: np.ndarray, distance_nm: np.ndarray, most_nm: float) -> np.ndarray:
    """Return the rows no farther than a distance, nearest first; equals in order."""
    near = np.flatnonzero(distance_nm <= most_nm)
    return np.asarray(rows[near[np.argsort(distance_nm[near], kind="stable")]])
