"""Trips by which one sees where each way of travelling wins: all distances, parties, directions and seasons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from missionsim.base.assumptions import Assumptions
from missionsim.physics.geodesy import destination, haversine_nm
from missionsim.study.inputs.load_study import Study
from missionsim.world.airports.table import AirportTable
from missionsim.year.trips import Trip, TripTable, first_departure, last_departure, usual_bags_lb, usual_flexibility

STRIDE = 3
"""Directions turn by so many from one distance to the next, so that no direction is always flown in one season."""


@dataclass(frozen=True, slots=True)
class GridTrips:
    """The trips of all cells in one table, and what cell each belongs to.

    Parameters
    ----------
    table : TripTable              Party after party; within one, no two trips at a time.
    distance, party : tuple of int Position in `distances_nm` and `parties`, a trip each.
    distances_nm : tuple           Those that have an airport. [nm]
    parties : tuple of int         People aboard.
    """

    table: TripTable
    distance: tuple[int, ...]
    party: tuple[int, ...]
    distances_nm: tuple[float, ...]
    parties: tuple[int, ...]

    def of_party(self, party: int) -> list[int]:
        """Return the rows of one party's trips."""
        return [row for row, found in enumerate(self.party) if found == party]

    def cell_of(self, distance_nm: float, people: int) -> tuple[int, int]:
        """Return the nearest cell of a trip: positions of its distance and party."""
        return (_nearest(self.distances_nm, distance_nm), _nearest(self.parties, people))


def grid_trips(study: Study) -> GridTrips:
    """Return the trips of a study's grid; empty where no airport lies at any of the distances."""
    a = study.assumptions
    seats = max(c.profile.identity.seats for c in study.candidates)
    parties = tuple(int(p) for p in a["grid.parties"] if p <= seats) or (1,)
    found = {nm: places for nm in a["grid.distances_nm"] if (places := _places(study, float(nm)))}
    distances = tuple(float(nm) for nm in found)
    spots = [(d, k, ident) for d, nm in enumerate(found) for k, ident in found[nm]]
    count = int(a["grid.directions"])
    season = {(d, k): (k + STRIDE * d) % count for d, k, _ in spots}
    spots.sort(key=lambda s: (season[s[0], s[1]], s[0]))
    trips: list[Trip] = []
    for people in parties:
        trips += [_trip(study, ident, distances[d], people, row, len(spots)) for row, (d, _, ident) in enumerate(spots)]
    table = TripTable(tuple(trips), study.home.ident, study.year)
    return GridTrips(table, tuple(d for _ in parties for d, *_ in spots),
                     tuple(p for p in range(len(parties)) for _ in spots), distances, parties)


def _places(study: Study, distance_nm: float) -> list[tuple[int, str]]:
    """Return direction and identifier of the airports that stand for a distance, each airport once."""
    a, home = study.assumptions, study.home
    count = int(a["grid.directions"])
    found: dict[str, int] = {}
    for k in range(count):
        lat, lon = destination(home.latitude_deg, home.longitude_deg, 360.0 * k / count, distance_nm)
        ident = _airport_near(study.airports, lat, lon, distance_nm, a, (home.latitude_deg, home.longitude_deg))
        if ident and ident not in found:
            found[ident] = k
    return [(k, ident) for ident, k in found.items()]


def _airport_near(airports: AirportTable, lat: float, lon: float, distance_nm: float, a: Assumptions,
                  home: tuple[float, float]) -> str:
    """Return the public airport with a paved runway and fuel nearest to a point, at the distance; empty if none."""
    spare = distance_nm * a["grid.distance_tolerance_share"]
    for row in airports.within(lat, lon, spare).tolist():
        off = abs(float(haversine_nm(*home, airports.latitude_deg[row], airports.longitude_deg[row])) - distance_nm)
        if (off <= spare and airports.public[row] and airports.has_fuel[row]
                and airports.longest_paved_ft[row] >= a["grid.runway_ft"]):
            return airports.airport(row).ident
    return ""


def _trip(study: Study, ident: str, distance_nm: float, people: int, row: int, count: int) -> Trip:
    """Return the trip of a spot: its day shared out over the year, nights by distance, all else as usual."""
    a = study.assumptions
    nights = 2 if distance_nm >= a["grid.two_nights_from_nm"] else 1
    leaves = date(study.year, 1, 1) + timedelta(days=1 + int(row * 360 / max(count, 1)))
    first = first_departure(leaves, None, a)
    last = last_departure(first, leaves + timedelta(days=nights), None, 1, a)
    slack = usual_flexibility(nights, a)
    return Trip(f"{ident} {people}", (study.home.ident, ident, study.home.ident), (first, last), adults=people,
                bags_lb=usual_bags_lb(people, nights, a), earlier_h=slack.earlier_h, later_h=slack.later_h,
                return_earlier_h=slack.return_earlier_h, return_later_h=slack.return_later_h)


def _nearest(values: Sequence[float], wanted: float) -> int:
    return min(range(len(values)), key=lambda i: abs(values[i] - wanted))
