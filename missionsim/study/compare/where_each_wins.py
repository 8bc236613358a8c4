"""Where each way of travelling wins: trips of every distance and party from home, flown through the year's weather.

The aircraft are taken as owned: a trip costs what it adds (fuel, fees, nights, wear and value lost by the hour), not
what the aircraft costs anyway. A trip not made by light aircraft counts with the dollars and hours of the other way.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from missionsim.base.arrays import Array, Floats
from missionsim.base.parallel import in_order
from missionsim.money.categories import CODE, Category
from missionsim.physics.geodesy import haversine_nm
from missionsim.statistics.intervals import exact_mean, student_t_quantile
from missionsim.study.compare.alternatives import NO_AIRCRAFT, NONE, OWN, RENT, VALUES_OF_TIME
from missionsim.study.compare.compare import CHUNK, Comparison, chunk_tallies
from missionsim.study.compare.grid_trips import GridTrips, grid_trips
from missionsim.study.compare.price_draws import AIRLINE, CAR, Priced
from missionsim.study.compare.recost import Change, Recosted
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.study import Prepared, prepare
from missionsim.study.prepare.subset import subset
from missionsim.study.replicate.tally import Tally, joined_tallies
from missionsim.year.trips import LOGBOOK

MOVED_USD_PER_H = tuple(5.0 * k for k in range(41))
"""Values of an adult's hour that a slider moves through. [usd/h]"""
MORE = 0.25
"""Trips more and fewer, as a share, between which it is worked out what a further one adds: wide enough that an
overhaul which comes a little sooner or later does not stand for one trip."""


@dataclass(frozen=True, slots=True)
class WayInCell:
    """One way of making the trips of a cell, means of a trip there and back.

    `made_share`: by light aircraft; the rest goes otherwise and counts with it. `party_hours` door to door of one
    traveller, `person_hours` of all, `usd` that the trip adds. `possible`: makes enough of them to be a way.
    """

    kind: str
    name: str
    made_share: float
    party_hours: float
    person_hours: float
    usd: float
    possible: bool


@dataclass(frozen=True, slots=True)
class Best:
    """What is best in a cell with an adult hour at a value: one name, or several that are level."""

    usd_per_h: float
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GridCell:
    """A distance and a party: `trips` flown in all years, and how many of the study's own trips lie nearest.

    `moved`: by `Grid.moved_usd_per_h` the numbers of those of `ways` that are best, the first one first: `0 3`.
    """

    distance_nm: float
    people: int
    trips: int
    own_trips: int
    ways: tuple[WayInCell, ...]
    best: tuple[Best, ...]
    moved: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """All cells, party after party, and what belongs to every one of them.

    `moved_usd_per_h`: values of an hour close enough for a slider. `told_usd_per_h`: as the study values an adult hour,
    else as people choose between car and airline. `comes_anyway_usd`: by candidate, what its year costs beyond what
    its trips add.
    """

    distances_nm: tuple[float, ...]
    parties: tuple[int, ...]
    usd_per_h: tuple[float, ...]
    told_usd_per_h: float
    replications: int
    comes_anyway_usd: dict[str, float]
    cells: tuple[GridCell, ...]
    moved_usd_per_h: tuple[float, ...]

    def cell(self, distance: int, party: int) -> GridCell:
        """Return a cell by the positions of its distance and party."""
        return self.cells[party * len(self.distances_nm) + distance]


@dataclass(frozen=True)
class _Flown:
    """What one way brought, by cell and replication, means of a trip.

    `usd` without what the hours add, `wear_h` flight hours, `car_usd, airline_usd` of the dollars.
    """

    kind: str
    name: str
    made: Floats
    usd: Floats
    party_h: Floats
    person_h: Floats
    valued_h: Floats
    wear_h: Floats
    car_usd: Floats
    airline_usd: Floats


def with_grid(found: Comparison, replications: int | None = None, workers: int = 1,
              progress: Callable[[int, int], None] | None = None) -> Comparison:
    """Return the comparison with the grid of distance by party, flown in years of its own.

    Parameters
    ----------
    found : Comparison
    replications : int, optional   Simulated years; else the assumption `grid.replications`.
    workers : int
    progress : callable, optional  Told years flown and to fly, those of all parties together.
    """
    trips = grid_trips(found.study)
    if not len(trips.table):
        return found
    count = int(replications or found.study.assumptions["grid.replications"])
    ways = _flown_ways(found.study, trips, count, workers, progress)
    added = {r.name: added_usd_per_h(found, i) for i, r in enumerate(found.results)}
    return replace(found, grid=_grid(found, trips, ways, added, count))


def _flown_ways(study: Study, trips: GridTrips, count: int, workers: int,
                progress: Callable[[int, int], None] | None) -> list[_Flown]:
    """Fly every party's trips with every candidate and the rented aircraft; no aircraft goes with them."""
    spec = study.spec.model_copy(update={"years": 1, "trips_are": LOGBOOK, "local_hours_per_year": 0.0})
    one_year = replace(study, spec=spec, listed=trips.table, demand=())
    prepared = prepare(one_year, trips.table, rental=True)
    chunks = [range(i, min(i + CHUNK, count)) for i in range(0, count, CHUNK)]
    by_party: list[list[Tally]] = []
    for party in range(len(trips.parties)):
        part = subset(prepared, np.array(trips.of_party(party), dtype=np.int64))
        flown = []
        for tallies in in_order(_chunk, part, chunks, workers, None, False):
            flown.append(tallies)
            if progress is not None:
                progress(party * count + min(len(flown) * CHUNK, count), len(trips.parties) * count)
        by_party.append([joined_tallies(parts) for parts in zip(*flown, strict=True)])
    kinds = [OWN] * len(prepared.flyers) + [RENT] * (prepared.rental is not None)
    ways = [_sums(kind, [tallies[i] for tallies in by_party], trips) for i, kind in enumerate(kinds)]
    return [*ways, _no_aircraft([tallies[0] for tallies in by_party], trips)]


def _chunk(prepared: Prepared, replications: Sequence[int]) -> list[Tally]:
    return chunk_tallies(prepared, replications, replications[-1] + 1)


def _by_cell(part: Tally, distance: Floats, values: Array, shape: int) -> Floats:
    """Return means of a trip by distance and replication, shape (distances, replications)."""
    trips = part.trips
    at = distance[trips.trip] * len(part.replications) + np.searchsorted(part.replications, trips.replication)
    size = shape * len(part.replications)
    sums = np.bincount(at, np.asarray(values, dtype=np.float64), size)
    return np.asarray((sums / np.bincount(at, minlength=size)).reshape(shape, -1))


def _flight_h(part: Tally) -> Floats:
    """Return the flight hours of each wanted trip of each replication, in the order of its trips."""
    assert part.kept is not None  # every year of a grid is kept
    trips, flights = part.trips, part.kept.flights
    count = int(trips.trip.max()) + 1
    of_trip = flights["trip"] >= 0
    rep = np.searchsorted(part.replications, flights["replication"][of_trip])
    hours = np.bincount(rep * count + flights["trip"][of_trip], flights["flight_h"][of_trip],
                        count * len(part.replications))
    return np.asarray(hours[np.searchsorted(part.replications, trips.replication) * count + trips.trip])


def _sums(kind: str, parts: Sequence[Tally], trips: GridTrips) -> _Flown:
    """Return one way's means by cell, party after party."""
    rows: list[list[Floats]] = []
    for party, part in enumerate(parts):
        t = part.trips
        distance = np.array([trips.distance[row] for row in trips.of_party(party)])
        usd = t.flown_usd.astype(np.float64) + t.car_usd + t.airline_usd
        wear = _flight_h(part) if kind == OWN else np.zeros(len(t.trip))
        values = (t.made, usd, t.party_h, t.person_h, t.valued_h, wear, t.car_usd, t.airline_usd)
        rows.append([_by_cell(part, distance, v, len(trips.distances_nm)) for v in values])
    return _Flown(kind, parts[0].name, *(np.concatenate(columns) for columns in zip(*rows, strict=True)))


def _no_aircraft(parts: Sequence[Tally], trips: GridTrips) -> _Flown:
    rows: list[list[Floats]] = []
    for party, part in enumerate(parts):
        t = part.trips
        distance = np.array([trips.distance[row] for row in trips.of_party(party)])
        none = np.zeros(len(t.trip))
        hours = t.other_h.astype(np.float64)
        car, airline = (np.where(t.other_airline == by_air, t.other_usd, 0.0) for by_air in (False, True))
        values = (none, t.other_usd, hours, hours * t.people, hours * t.weight_otherwise, none, car, airline)
        rows.append([_by_cell(part, distance, v, len(trips.distances_nm)) for v in values])
    return _Flown(NONE, NO_AIRCRAFT, *(np.concatenate(columns) for columns in zip(*rows, strict=True)))


def added_usd_per_h(found: Comparison, number: int) -> Floats:
    """Return what a further flight hour of a candidate costs beyond what its trips are booked, by price draw. [usd/h]

    The whole ownership is costed again with a few more trips: wear, overhauls nearer, value lost by the hour.
    """
    assert found.certainty is not None
    recosted = Recosted(found.prepared, [r.tally for r in found.results])
    part, priced = found.results[number].tally, found.certainty.priced
    own = {key: factor for (name, key), factor in priced.factors.items() if name == part.name}
    draws = priced.cost.shape[2]
    own |= {key: np.ones(draws) for parts in (recosted.parts(number),) for keys in parts.prices for key in keys
            if key not in own}

    def year_usd(change: Change) -> Floats:
        return np.asarray(recosted.parts(number, change).costs(own).mean(axis=0))

    more = (year_usd(Change(trips=1.0 + MORE)) - year_usd(Change(trips=1.0 - MORE))) / (2.0 * MORE)
    outside = sum(exact_mean(part.categories[:, CODE[c]]) / 100.0 for c in (Category.SUBSTITUTE, Category.TIME))
    booked = float(part.trips.flown_usd.sum(dtype=np.float64)) / len(part.replications)
    hours = exact_mean(part.column("flight_hours"))
    return np.asarray((more - outside - booked) / hours) if hours else np.zeros(draws)


def _grid(found: Comparison, trips: GridTrips, ways: Sequence[_Flown], added: dict[str, Floats], count: int) -> Grid:
    assert found.certainty is not None
    own_value = float(found.prepared.prices.value_of_time_usd_per_h or found.study.assumptions["time.choice_usd_per_h"])
    values, moved = (tuple(sorted({*these, own_value})) for these in (VALUES_OF_TIME, MOVED_USD_PER_H))
    least = float(found.study.assumptions["grid.least_made_share"])
    own_trips = _own_trips(found, trips)
    cells = []
    for party, people in enumerate(trips.parties):
        for d, distance_nm in enumerate(trips.distances_nm):
            cell = party * len(trips.distances_nm) + d
            told = [_way(w, cell, added.get(w.name), least) for w in ways]
            rivals = [w for w, t in zip(ways, told, strict=True) if t.possible]
            draws = [_by_draw(w, cell, added, found.certainty.priced) for w in rivals]
            best = {v: _best_at(rivals, cell, v, draws) for v in {*values, *moved}}
            number = {t.name: str(k) for k, t in enumerate(told)}
            cells.append(GridCell(distance_nm, people, trips.distance.count(d) // len(trips.parties) * count,
                                  own_trips.get((d, party), 0), tuple(told), tuple(best[v] for v in values),
                                  tuple(" ".join(number[name] for name in best[v].names) for v in moved)))
    anyway = {r.name: exact_mean(r.values("cost_usd")) - exact_mean(added[r.name])
              * exact_mean(r.tally.column("flight_hours")) - float(r.tally.trips.flown_usd.sum(dtype=np.float64))
              / len(r.tally.replications) for r in found.results}
    return Grid(trips.distances_nm, trips.parties, values, own_value, count, anyway, tuple(cells), moved)


def _way(way: _Flown, cell: int, added: Floats | None, least: float) -> WayInCell:
    made = exact_mean(way.made[cell])
    extra = 0.0 if added is None else exact_mean(added) * exact_mean(way.wear_h[cell])
    return WayInCell(way.kind, way.name, made, exact_mean(way.party_h[cell]), exact_mean(way.person_h[cell]),
                     exact_mean(way.usd[cell]) + extra, way.kind == NONE or made >= least)


def _best(rivals: Sequence[_Flown], cell: int, usd_per_h: float, added: dict[str, Floats], priced: Priced) -> Best:
    """Return what costs least with its hours valued, and what is level with it: luck and prices both not telling."""
    return _best_at(rivals, cell, usd_per_h, [_by_draw(w, cell, added, priced) for w in rivals])


def _best_at(rivals: Sequence[_Flown], cell: int, usd_per_h: float, by_draw: Sequence[Array]) -> Best:
    """Return the best of rivals whose dollars by price draw are known already."""
    by_year = [w.usd[cell] + usd_per_h * w.valued_h[cell] for w in rivals]
    total = [exact_mean(year) + exact_mean(draw) for year, draw in zip(by_year, by_draw, strict=True)]
    first = int(np.argmin(total))
    names = [rivals[first].name]
    for k, rival in enumerate(rivals):
        if k == first:
            continue
        years, draws = by_year[k] - by_year[first], by_draw[k] - by_draw[first]
        error = float(np.sqrt(years.var(ddof=1) / len(years) + draws.var()))
        if total[k] - total[first] <= student_t_quantile(0.975, len(years) - 1) * error:
            names.append(rival.name)
    return Best(usd_per_h, tuple(names))


def _by_draw(way: _Flown, cell: int, added: dict[str, Floats], priced: Priced) -> Floats:
    """Return what the hours add, and what prices of cars and airlines change, by price draw. [usd a trip]"""
    market = {key: next((f for (_, k), f in priced.factors.items() if k == key), np.ones(priced.cost.shape[2]))
              for key in (CAR, AIRLINE)}
    travel = (exact_mean(way.car_usd[cell]) * (market[CAR] - 1.0)
              + exact_mean(way.airline_usd[cell]) * (market[AIRLINE] - 1.0))
    return np.asarray(travel + exact_mean(way.wear_h[cell]) * added.get(way.name, np.zeros(travel.shape)))


def _own_trips(found: Comparison, trips: GridTrips) -> dict[tuple[int, int], int]:
    """Return how many of the study's own trips lie nearest to each cell; none where trips vary from year to year."""
    counts: dict[tuple[int, int], int] = {}
    if found.study.listed is None:
        return counts
    home, airports = found.study.home, found.study.airports
    for trip in found.study.listed:
        far = max(float(haversine_nm(home.latitude_deg, home.longitude_deg, a.latitude_deg, a.longitude_deg))
                  for a in (airports.find(ident) for ident in trip.destinations))
        cell = trips.cell_of(far, trip.people)
        counts[cell] = counts.get(cell, 0) + 1
    return counts
