"""Figures of places and reach: a map of each candidate's year, and payload against range."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from missionsim.aircraft.loading import empty_weight_lb
from missionsim.base.arrays import Array
from missionsim.physics.geodesy import haversine_nm
from missionsim.report.records import kept_replications, trips_of
from missionsim.report.svg_figure import INK, RULE, SOFT, SvgFigure, key_below, key_in, look, wrapped
from missionsim.report.wording import listing, percent
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.prepare.study import Prepared
from missionsim.world.airports.table import AirportTable

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

OFTEN_SHARE, MOSTLY_SHARE = 0.3, 0.6
"""Shares of trips to a place refused or broken off from which it is marked."""
LABELS = 14


def maps(comparison: Comparison) -> list[SvgFigure]:
    """Return one map a candidate: where it goes, where trips fail and where it stops for fuel."""
    if any(r.tally.kept is None for r in comparison.results):
        return []
    places = positions(comparison)
    view = view_of(places)
    return [_map(comparison, r, places, view, f"map-{k}") for k, r in enumerate(comparison.results, 1)]


def positions(comparison: Comparison) -> dict[str, tuple[float, float]]:
    """Return latitude and longitude of every place of the kept years, as seen from home. [deg]"""
    idents = {comparison.study.home.ident}
    for trips in trips_of(comparison.study, kept_replications(comparison.results[0])).values():
        idents |= {stop for trip in trips for stop in trip.stops}
    for result in comparison.results:
        assert result.tally.kept is not None
        flights = result.tally.kept.flights
        idents |= set(flights["to_ident"].tolist())
    found = {i: comparison.study.airports.find(i) for i in sorted(idents)}
    home_deg = comparison.study.home.longitude_deg
    return {i: (a.latitude_deg, float(near_deg(a.longitude_deg, home_deg))) for i, a in found.items()}


def near_deg(longitude_deg: Array | float, home_deg: float) -> Array:
    """Return longitudes within 180 degrees of home, beyond the date line above 180 or below -180. [deg]"""
    longitude = np.asarray(longitude_deg, dtype=np.float64)
    return np.asarray(longitude + 360.0 * np.round((home_deg - longitude) / 360.0))


def longitude_words(longitude_deg: float) -> str:
    """Return a whole longitude of a map that may run over the date line in words: 190 is 170°W."""
    west_to_east = (longitude_deg + 180.0) % 360.0 - 180.0
    side = "" if west_to_east == -180.0 else "W" if west_to_east < 0 else "E"
    return f"{abs(west_to_east):.0f}°{side}"


def view_of(places: dict[str, tuple[float, float]]) -> tuple[float, float, float, float]:
    """Return south, north, west, east with a margin; never so narrow that the map is a dot."""
    lat, lon = (np.array([p[k] for p in places.values()]) for k in (0, 1))
    height = max(float(np.ptp(lat)), 2.0) * 0.08 + 0.3
    width = max(float(np.ptp(lon)), 2.0) * 0.06 + 0.4
    return float(lat.min()) - height, float(lat.max()) + height, float(lon.min()) - width, float(lon.max()) + width


def _map(comparison: Comparison, result: Result, places: dict[str, tuple[float, float]],
         view: tuple[float, float, float, float], key: str) -> SvgFigure:
    wanted, failed = by_destination(comparison, result)
    stops = fuel_stops(result)
    bad = [f"{i} ({percent(failed[i] / wanted[i])})" for i in sorted(wanted, key=lambda i: (-failed[i] / wanted[i], i))
           if failed[i] >= MOSTLY_SHARE * wanted[i]]
    words = (f"{result.name}: trips fail most at {listing(bad[:8]) or 'no place'}; fuel stops at "
             f"{listing(sorted(stops, key=lambda i: (-stops[i], i))[:8]) or 'no place'}")
    aspect = 1.0 / np.cos(np.radians((view[0] + view[1]) / 2))
    height_in = min(7.0, max(2.6, 4.9 * (view[1] - view[0]) / (view[3] - view[2]) * aspect + 0.95))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        _ground(axes, view, float(aspect), comparison.study.airports, comparison.study.home.longitude_deg)
        _routes(axes, comparison, places)
        _marks(axes, places, wanted, failed, stops, comparison.study.home.ident)
        key_below(figure, axes)

    return SvgFigure(key, f"Where it goes: {result.name}",
                 "Lines join the places of each trip. A filled dot is a place to which trips are mostly made, a hollow "
                 f"square one where {percent(OFTEN_SHARE)} or more are refused or broken off, a cross one where "
                 f"{percent(MOSTLY_SHARE)} or more are; a triangle is a fuel stop. Grey letters are states.",
                 words, height_in, draw)


def by_destination(comparison: Comparison, result: Result) -> tuple[dict[str, int], dict[str, int]]:
    """Return how many trips were wanted to each place in the kept years, and how many were refused or broken off."""
    assert result.tally.kept is not None
    trips = result.tally.kept.trips
    tables = trips_of(comparison.study, kept_replications(result))
    wanted: dict[str, int] = {}
    failed: dict[str, int] = {}
    for replication, trip, outcome in zip(trips["replication"], trips["trip"], trips["outcome"], strict=True):
        for place in tables[int(replication)][int(trip)].destinations:
            wanted[place] = wanted.get(place, 0) + 1
            failed[place] = failed.get(place, 0) + (outcome in {"refused", "broken_off"})
    return wanted, failed


def fuel_stops(result: Result) -> dict[str, int]:
    """Return how often the kept years stopped for fuel, by place."""
    assert result.tally.kept is not None
    flights = result.tally.kept.flights
    at, counts = np.unique(flights["to_ident"][flights["is_stop"].astype(bool)].astype(str), return_counts=True)
    return dict(zip(at.tolist(), counts.tolist(), strict=True))


def _ground(axes: Axes, view: tuple[float, float, float, float], aspect: float, airports: AirportTable,
            home_deg: float) -> None:
    south, north, west, east = view
    axes.set_xlim(west, east)
    axes.set_ylim(south, north)
    axes.set_aspect(aspect)
    step = next(s for s in (1, 2, 5, 10, 20, 40) if max(north - south, east - west) / s <= 9 or s == 40)
    lat, lon = (np.arange(np.ceil(a / step) * step, b, step) for a, b in ((south, north), (west, east)))
    axes.set_xticks(lon, [longitude_words(x) for x in lon], fontsize=8)
    axes.set_yticks(lat, [f"{abs(y):.0f}°{'N' if y >= 0 else 'S'}" for y in lat], fontsize=8)
    axes.grid(visible=True, axis="both")
    for name, y, x in region_labels(airports, home_deg):
        if south < y < north and west < x < east:
            axes.text(x, y, name, color="#a9b4ba", fontsize=11, ha="center", va="center", zorder=0.5)


def region_labels(airports: AirportTable, home_deg: float) -> list[tuple[str, float, float]]:
    """Return name, latitude and longitude of states, at the mean of their airports, as seen from home."""
    arrays = airports.arrays
    region, names = arrays["region"].astype(int), arrays["region_names"]
    count = np.maximum(np.bincount(region, minlength=len(names)), 1)
    north, east = arrays["latitude_microdeg"] * 1e-6, near_deg(arrays["longitude_microdeg"] * 1e-6, home_deg)
    lat, lon = (np.bincount(region, degrees, len(names)) / count for degrees in (north, east))
    words = [n.decode() for n in names.tolist()]
    return [(w.partition("-")[2], float(y), float(x)) for w, y, x in zip(words, lat, lon, strict=True)
            if w.startswith(("US-", "CA-"))]


def _routes(axes: Axes, comparison: Comparison, places: dict[str, tuple[float, float]]) -> None:
    pairs = set()
    for trips in trips_of(comparison.study, kept_replications(comparison.results[0])).values():
        pairs |= {tuple(sorted(pair)) for trip in trips for pair in zip(trip.stops[:-1], trip.stops[1:], strict=True)}
    for a, b in sorted(pairs):
        axes.plot([places[a][1], places[b][1]], [places[a][0], places[b][0]], color="#9fb0ba", linewidth=0.7, zorder=1)


def _marks(axes: Axes, places: dict[str, tuple[float, float]], wanted: dict[str, int], failed: dict[str, int],
           stops: dict[str, int], home: str) -> None:
    share = {i: failed[i] / wanted[i] for i in wanted}
    good = [i for i, s in share.items() if s < OFTEN_SHARE]
    often = [i for i, s in share.items() if OFTEN_SHARE <= s < MOSTLY_SHARE]
    bad = [i for i, s in share.items() if s >= MOSTLY_SHARE]

    def xy(idents: list[str]) -> tuple[list[float], list[float]]:
        return [places[i][1] for i in idents], [places[i][0] for i in idents]

    axes.scatter(*xy(good), s=24, color="#0b4f7a", zorder=3, label="mostly made")
    axes.scatter(*xy(often), s=30, marker="s", facecolors="white", edgecolors="#0b4f7a", linewidths=1.3, zorder=3,
                 label="often not made")
    axes.scatter(*xy(bad), s=50, marker="x", color="#a3230f", linewidths=2, zorder=4, label="mostly not made")
    axes.scatter(*xy(sorted(stops)), s=[24 + 3 * min(stops[i], 20) for i in sorted(stops)], marker="^",
                 facecolors="none", edgecolors="#8a5a00", linewidths=1.3, zorder=3, label="fuel stop")
    axes.scatter(*xy([home]), s=95, marker="*", color=INK, zorder=5, label=f"home {home}")
    top = sorted(bad, key=lambda i: (-share[i], -wanted[i], i))[:LABELS]
    for ident in top:
        axes.annotate(ident, (places[ident][1], places[ident][0]), xytext=(4, 4), textcoords="offset points",
                      fontsize=8, color=INK, zorder=6)


def payload_range(comparison: Comparison) -> SvgFigure:
    """Return what each candidate carries how far in one flight, and the study's trips as dots."""
    prepared = comparison.prepared
    curves = [edge_of_one_flight(prepared, number) for number in range(len(comparison.results))]
    distance_nm, load_lb = trip_loads(prepared)
    names = comparison.names
    words = "; ".join(f"{n}: {load_over(c, 400.0):,.0f} lb over 400 nm, {load_over(c, 150.0):,.0f} lb over 150 nm"
                      for n, c in zip(names, curves, strict=True))
    right = 1.06 * max([float(distance_nm.max(initial=0.0)), *(float(c[0].max()) for c in curves)])
    right = min(right, 2.2 * float(distance_nm.max(initial=300.0)))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        axes.scatter(distance_nm, load_lb, s=16, color=SOFT, alpha=0.7, linewidths=0, label="a trip: load, longest leg")
        for k, (name, (nm, lb)) in enumerate(zip(names, curves, strict=True)):
            own = look(k)
            axes.plot(nm, lb, color=own["color"], linestyle=own["linestyle"], marker=own["marker"], markevery=12,
                      markersize=5, linewidth=1.7, label=wrapped(name, 26))
        axes.set_xlim(0, right)
        axes.set_ylim(0, 1.1 * max([float(load_lb.max(initial=0.0)), *(float(c[1].max()) for c in curves)]))
        axes.set_xlabel("one flight in still air with reserve, nm")
        axes.set_ylabel("people and bags, lb")
        axes.grid(visible=True, axis="both", color=RULE)
        key_below(figure, axes)

    return SvgFigure("payload-range", "Load against distance",
                 "Below and left of a line the aircraft carries the load that far without a stop; each grey dot is one "
                 "of your trips, pilot included, at its longest leg. A dot above a line needs less load or fuel and a "
                 "stop; wind, runways, seats and baggage limits come on top.", words,
                 3.6 + key_in(len(names) + 1), draw)


def edge_of_one_flight(prepared: Prepared, number: int) -> tuple[Array, Array]:
    """Return distance and load along the edge of what one flight can do, heaviest load first. [nm, lb]"""
    flyer = prepared.flyers[number]
    plan, profile = flyer.plan, flyer.candidate.profile
    empty_lb = empty_weight_lb(profile, prepared.study.assumptions)
    limit_lb = profile.weights.max_zero_fuel_lb or profile.max_takeoff_lb
    load_lb = np.linspace(min(limit_lb, profile.max_takeoff_lb) - empty_lb, 0.0, 121)
    fuel_gal = np.minimum(plan.aircraft.max_fuel_gal(empty_lb + load_lb), plan.fuel.usable_gal)
    flight = plan.coarse
    for_flight_gal = fuel_gal - plan.fuel.taxi_gal - plan.fuel.approach_gal - plan.fuel.reserve_h * flight.fuel_flow_gph
    nm = (for_flight_gal - flight.overhead_gal) / flight.fuel_flow_gph * flight.tas_kt
    some = nm >= 0.0
    return np.append(nm[some], nm[-1]), np.append(load_lb[some], 0.0)


def load_over(curve: tuple[Array, Array], distance_nm: float) -> float:
    """Return the most load that goes so far in one flight, by its edge; 0 where nothing does. [lb]"""
    reach = curve[0] >= distance_nm
    return float(curve[1][reach].max()) if reach.any() else 0.0


def trip_loads(prepared: Prepared) -> tuple[Array, Array]:
    """Return the longest leg of each trip and its load, the pilot included. [nm, lb]"""
    schedule, airports = prepared.schedule, prepared.places.airports
    lat, lon = np.array([a.latitude_deg for a in airports]), np.array([a.longitude_deg for a in airports])
    start, goal = schedule.from_place, schedule.to_place
    leg_nm = haversine_nm(lat[start], lon[start], lat[goal], lon[goal])
    longest = np.maximum.reduceat(leg_nm, schedule.first_leg[:-1])
    return longest, prepared.people_lb.sum(axis=1) + prepared.bags_lb
