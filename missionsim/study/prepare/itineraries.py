"""Which chains of flights each leg of a study may be flown in by one candidate."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from missionsim.base.arrays import Array, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.flight.rules import Rules
from missionsim.flight.stops import CoarseFlight, StopSearch, StopWishes, itineraries
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.prepare.network import Places

HEADWINDS_KT = np.array([-20.0, 0.0, 20.0, 40.0, 60.0])
FUEL_STEP_GAL = 2.0
STRIPS = 24
"""The corridor is cut into so many strips along the way, and each offers its two best airports."""


@dataclass
class StopPlanner:
    """Finds itineraries for one candidate and remembers them by pair and fuel.

    `runway_ft`: paved runway a fuel stop must have. `reserve_gal`: taxi, approach, reserve, alternate.
    """

    places: Places
    coarse: CoarseFlight
    rules: Rules
    assumptions: Assumptions
    runway_ft: float
    reserve_gal: float
    _known: dict[tuple[int, int, int, bool], tuple[tuple[int, ...], ...]] = field(default_factory=dict)
    _between: dict[tuple[int, int], tuple[Ints, Array]] = field(default_factory=dict)

    def of(self, from_place: int, to_place: int, allowed_gal: float, people: int) -> tuple[tuple[int, ...], ...]:
        """Return the itineraries of a leg as rows of places, the direct one first; fuel counts in steps.

        Parameters
        ----------
        from_place : int      Row of the place left.
        to_place : int        Row of the place reached.
        allowed_gal : float   Fuel that the load leaves room for. [gal]
        people : int          On board.
        """
        step = max(round((allowed_gal - self.reserve_gal) / FUEL_STEP_GAL), 1)
        key = (from_place, to_place, step, people > 1)
        if key not in self._known:
            max_leg_h = float(self.rules.max_leg_h(people))
            self._known[key] = self._searched(from_place, to_place, step * FUEL_STEP_GAL, max_leg_h)
        return self._known[key]

    def _searched(self, from_place: int, to_place: int, fuel_gal: float, max_leg_h: float,
                  ) -> tuple[tuple[int, ...], ...]:
        a, b = (self.places.airports[p] for p in (from_place, to_place))
        direct_nm = float(haversine_nm(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg))
        classes = np.array([self.assumptions["flight.stop_fuel_share"] * fuel_gal])
        worst_kt = float(HEADWINDS_KT[-1])
        if (self.coarse.gallons(np.array(direct_nm), worst_kt) <= classes[-1]
                and self.coarse.hours(np.array(direct_nm), worst_kt) <= max_leg_h):
            return ((from_place, to_place),)
        stops, apart_nm = self._stops(from_place, to_place, direct_nm)
        given = self.assumptions
        ground_h = sum(given[f"flight.{name}_min"] for name in ("fuel_stop", "taxi_out", "taxi_in")) / 60.0
        wishes = StopWishes(ground_h, given["flight.shortest_hop_nm"], given["flight.stop_evenness_per_h"])
        chains = itineraries(apart_nm, self.coarse, classes, max_leg_h, HEADWINDS_KT, wishes)
        rows = [from_place, *(self.places.row_of_table(int(i)) if any(k + 1 in c for c in chains) else -1
                              for k, i in enumerate(stops)), to_place]
        return tuple(tuple(rows[i] for i in chain) for chain in chains)

    def _stops(self, from_place: int, to_place: int, direct_nm: float) -> tuple[Ints, Array]:
        """Return the airports that can serve as stops, and all distances among them and the two ends."""
        key = (from_place, to_place)
        if key not in self._between:
            stops, table = self._corridor(from_place, to_place, direct_nm), self.places.table
            a, b = (self.places.airports[p] for p in key)
            lat = np.concatenate([[a.latitude_deg], table.latitude_deg[stops], [b.latitude_deg]])
            lon = np.concatenate([[a.longitude_deg], table.longitude_deg[stops], [b.longitude_deg]])
            self._between[key] = stops, StopSearch(lat, lon).distances_nm()
        return self._between[key]

    def _corridor(self, from_place: int, to_place: int, direct_nm: float) -> Ints:
        """Return rows of the airport table that can serve as stops, the two nearest the straight line in each strip."""
        found, along = self.places.corridor(from_place, to_place, self.assumptions)
        long = self.places.table.longest_paved_ft[found] >= self.runway_ft
        found, along = found[long], along[long]
        inside = (along > 20.0) & (along < direct_nm - 20.0)
        found, strip = found[inside], (along[inside] / direct_nm * STRIPS).astype(int)
        kept = [i for s in range(STRIPS) for i in found[strip == s][:2]]
        return np.array(kept, dtype=np.int64)


def alternates(places: Places, place: int, count: int, runway_ft: float, assumptions: Assumptions) -> list[int]:
    """Return rows of places that can serve as alternates: with approach, runway and fuel, near but not next door.

    The nearest in each of `count` directions, so that one low-lying fog bank does not hold them all.

    Parameters
    ----------
    places : Places
    place : int         Row of the place.
    count : int         Directions looked into.
    runway_ft : float   Lighted paved runway it has at least. [ft]
    assumptions : Assumptions
    """
    airport, table = places.airports[place], places.table
    found = table.within(airport.latitude_deg, airport.longitude_deg, assumptions["flight.alternate_radius_nm"])
    good = ((table.approach_rank[found] > 0) & (table.longest_lighted_paved_ft[found] >= runway_ft)
            & table.has_fuel[found] & table.public[found])
    found = places.with_weather(found[good], assumptions)
    lat, lon = table.latitude_deg[found], table.longitude_deg[found]
    distance = haversine_nm(airport.latitude_deg, airport.longitude_deg, lat, lon)
    far = distance > 12.0
    found, lat, lon = found[far], lat[far], lon[far]
    east = (lon - airport.longitude_deg) * np.cos(np.radians(airport.latitude_deg))
    sector = ((np.degrees(np.arctan2(east, lat - airport.latitude_deg)) % 360.0) / (360.0 / count)).astype(int)
    nearest = [found[sector == s][:1] for s in range(count)]
    return [places.row_of_table(int(i[0])) for i in nearest if len(i)]
