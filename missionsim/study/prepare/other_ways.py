"""What travelling without a light aircraft needs of a study's trips: roads, ferries, airports that airlines serve."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions
from missionsim.money.other_ways import TripTerms
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.prepare.network import Places
from missionsim.world.airports.table import Airport, AirportTable
from missionsim.year.trips import TripTable

MOUNTAINS = frozenset({"US-AK", "US-CO", "US-ID", "US-MT", "US-NM", "US-NV", "US-UT", "US-WY"})
HILLS = frozenset({"US-AZ", "US-CA", "US-KY", "US-NH", "US-OR", "US-TN", "US-VA", "US-VT", "US-WA", "US-WV"})
"""States in which roads detour most, by open geography; each end of a way counts by itself."""
NO_ROAD = frozenset({"KACK", "KAVX", "KBID", "KESD", "KFHR", "KMCD", "KMVY", "KORS", "KSJX", "ACK", "AVX", "BID", "ESD",
                     "FHR", "MCD", "MVY", "ORS", "SJX", "6Y8", "3W2", "3W3", "W33"})
"""Airports of islands that no road reaches, by ferry only (Nantucket, Catalina, Block Island, the San Juans, ...)."""


def trip_terms(trips: TripTable, places: Places, airports: AirportTable, assumptions: Assumptions) -> TripTerms:
    """Return what travelling otherwise needs of a study's trips.

    Parameters
    ----------
    trips : TripTable
    places : Places            With the places of the trips.
    airports : AirportTable    Where served airports are looked for.
    assumptions : Assumptions
    """
    access = {ident: access_nm(places.airports[places.row(ident)], airports, assumptions)
              for ident in sorted({s for t in trips for s in t.stops})}
    total, road, ferries, to_airline = [], [], [], []
    for trip in trips:
        ends = [places.airports[places.row(s)] for s in trip.stops]
        legs = [(a, b, float(haversine_nm(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)))
                for a, b in pairwise(ends)]
        total.append(sum(nm for *_, nm in legs))
        road.append(sum(nm * road_factor(a, b, assumptions) for a, b, nm in legs))
        ferries.append(sum(float((a.ident in NO_ROAD) != (b.ident in NO_ROAD)) for a, b, _ in legs))
        to_airline.append(sum(access[a.ident] + access[b.ident] for a, b, _ in legs))
    usd, hours = ([np.nan if v is None else v for v in values] for values in (
        [t.substitute_usd for t in trips], [t.substitute_h for t in trips]))
    value = [np.nan if t.optional_value_usd is None else t.optional_value_usd for t in trips]
    return TripTerms(_floats(total), _floats([len(t.destinations) for t in trips]),
                     _floats([t.bags_lb for t in trips]), np.array([t.must_go for t in trips], dtype=bool),
                     _floats(value), _floats([t.adults for t in trips]), _floats([t.children for t in trips]),
                     _floats([t.nights for t in trips]), _floats(road), _floats(ferries), _floats(to_airline),
                     _floats(usd), _floats(hours), _floats(_or_usual([t.moved_usd for t in trips], "usd", assumptions)),
                     _floats(_or_usual([t.moved_h for t in trips], "h", assumptions)))


def _or_usual(said: Sequence[float | None], unit: str, assumptions: Assumptions) -> list[float]:
    """Return what trips say that moving them costs or takes, the usual where they say nothing."""
    return [float(assumptions[f"trip.moved_{unit}"]) if value is None else value for value in said]


def road_factor(a: Airport, b: Airport, assumptions: Assumptions) -> float:
    """Return miles by road over great-circle miles between two places: the mean of what their regions ask."""
    def one(region: str) -> float:
        kind = "mountains" if region in MOUNTAINS else "hills" if region in HILLS else "plain"
        return float(assumptions["cost.road_factor"][kind])

    return 0.5 * (one(a.region) + one(b.region))


def access_nm(place: Airport, airports: AirportTable, assumptions: Assumptions) -> float:
    """Return miles by road from a place to the nearest airport that airlines serve, NaN where none is in reach.

    Airlines are taken to serve an airport that the open data class as large, or as medium with a paved runway of
    `cost.served_runway_ft` at least.
    """
    reach = assumptions["cost.served_reach_nm"]
    rows = airports.within(place.latitude_deg, place.longitude_deg, reach)
    for row in rows[airports.longest_paved_ft[rows] >= assumptions["cost.served_runway_ft"]].tolist():
        found = airports.airport(int(row))
        if found.size >= 1 and (found.ident in NO_ROAD) == (place.ident in NO_ROAD):
            nm = float(haversine_nm(place.latitude_deg, place.longitude_deg, found.latitude_deg, found.longitude_deg))
            return nm * road_factor(place, found, assumptions)
    return float("nan")


def _floats(values: list[float] | list[int]) -> Floats:
    return np.array(values, dtype=np.float64)
