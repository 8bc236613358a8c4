"""Three simulated years of one trip worth opening: the usual one, the nearest miss and the worst.

Which years these are is read from what became of the trip in every year flown; only they are flown again and told.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Columns
from missionsim.decide.leg_weather import WeatherSky
from missionsim.study.explain.replication import ExplainedYear, FlightFacts, Stop, explained_year
from missionsim.study.prepare.study import Entrant
from missionsim.study.replicate.one_year import Day, columns_of, weather_of, year_of
from missionsim.study.replicate.trip_years import BROKEN_OFF, DELAYED, TripYears
from missionsim.world.random_fields.hours import HOURS, hour_index

USUAL, NEAREST, WORST = "usual", "nearest miss", "worst"
STEP: Mapping[str, float] = {"lb": 100.0, "ft": 500.0, "gal": 5.0, "people": 1.0, "in": 1.0, "ft/min": 50.0,
                             "ft/nm": 50.0, "kt": 3.0}
"""What is about as hard to find of each unit: a miss is near where it lacks few of these."""


@dataclass(frozen=True, slots=True)
class FieldWeather:
    """Weather of a field at an hour: `ceiling_ft` above ground, `wind_from_deg` true."""

    ceiling_ft: float
    visibility_sm: float
    wind_from_deg: float
    wind_kt: float
    temperature_c: float


@dataclass(frozen=True, slots=True)
class TripDay:
    """One simulated year of one trip with one candidate.

    Parameters
    ----------
    kind : str             `usual`, `nearest miss` or `worst`.
    replication : int
    outcome : str          As in `words.Outcome`.
    reason : str           What decided, empty where nothing did.
    why, how : str         Why it was not made or late; how it was made otherwise than asked.
    flights : Columns      Its flights in order.
    facts : mapping        What they weighed and needed, by leg of the trip and places left and reached.
    weather : tuple        Of each flight: where it left, when it left, and where it landed, when it landed.
    judged : int           Of a nearest miss: out of how many years not made it was taken.
    """

    kind: str
    replication: int
    outcome: str
    reason: str
    why: str
    how: str
    flights: Columns
    facts: Mapping[tuple[int, str, str], FlightFacts]
    weather: tuple[tuple[FieldWeather, FieldWeather], ...] = ()
    judged: int = 0


@dataclass(frozen=True, slots=True)
class ToldYear:
    """One candidate's replication, flown again: a story, columns with identifiers, the weather of both ends.

    `weather`: of each flight, where and when it left, and where and when it landed.
    """

    explained: ExplainedYear
    flights: Columns
    trips: Columns
    weather: tuple[tuple[FieldWeather, FieldWeather], ...]


def told_year(entrant: Entrant, replication: int, day: Day | None = None) -> ToldYear:
    """Return one candidate's replication, flown again and told; `day`: its weather where it is known already."""
    prepared = entrant.prepared
    day = weather_of(prepared, replication) if day is None else day
    year = year_of(entrant, day, replication)
    columns = columns_of(prepared, year, replication)
    idents = np.array([airport.ident for airport in prepared.places.airports], dtype=object)
    f = columns.flights
    named = {f"{end}_ident": idents[f[f"{end}_place"]] for end in ("from", "to")}
    left = field_weather(day.sky, f["from_place"], f["depart_h"])
    landed = field_weather(day.sky, f["to_place"], f["depart_h"] + f["block_h"])
    return ToldYear(explained_year(entrant, day, year), f | named, columns.trips,
                    tuple(zip(left, landed, strict=True)))


def field_weather(sky: WeatherSky, place: Array, time_h: Array) -> list[FieldWeather]:
    """Return the weather of places at times, UTC hours since the year began."""
    hour = np.clip(hour_index(time_h), 0, HOURS - 1)
    east_kt, north_kt = (values.astype(np.float64) for values in sky.surface_wind(place, time_h))
    from_deg = np.degrees(np.arctan2(-east_kt, -north_kt)) % 360.0
    values = (sky.surface.ceiling_ft(place, hour), sky.surface.visibility_sm(place, hour), from_deg,
              np.hypot(east_kt, north_kt), sky.field_air(place, time_h)[1])
    return [FieldWeather(*of_one) for of_one in zip(*(v.tolist() for v in values), strict=True)]


def trip_days(entrant: Entrant, years: TripYears, trip: int,
              year_told: Callable[[int], ToldYear] | None = None) -> tuple[TripDay, ...]:
    """Return the usual year, the nearest miss and the worst of one trip with one candidate.

    A year that is two of them is told once; empty where no year wanted it.

    Parameters
    ----------
    years : TripYears      Of that candidate, over all replications flown.
    year_told : callable   Tells a replication; flown again when left out.
    """
    tell = year_told or (lambda replication: told_year(entrant, replication))
    mine = np.flatnonzero(years.trip == trip)
    if not len(mine):
        return ()
    usual, worst = usual_of(years, mine), worst_of(years, mine)
    found = [day_of(USUAL, tell(usual), trip, usual)]
    missed = years.replication[mine[years.outcome[mine] > DELAYED]]
    most = int(entrant.prepared.study.assumptions["explain.years_judged"])
    stops = {int(r): stop for r in missed[:most] if (stop := tell(int(r)).explained.stops.get(trip)) is not None}
    if stops:
        near = nearest(stops)
        if near != usual and not _same_story(found[0], stops[near]):
            found.append(day_of(NEAREST, tell(near), trip, near, len(stops)))
    if worst not in {d.replication for d in found}:
        found.append(day_of(WORST, tell(worst), trip, worst))
    return tuple(found)


def _same_story(usual: TripDay, stop: Stop) -> bool:
    """Tell whether a miss that nothing is measured of fails for what it usually fails for."""
    return usual.reason == str(stop.reason) and stop.earlier_h is None and all(w.margin is None for w in stop.whys)


def usual_of(years: TripYears, mine: Array) -> int:
    """Return the replication that stands for most: the most frequent fate, of its years the one of middle hours."""
    fate = years.outcome[mine].astype(np.int64) * 128 + np.where(years.outcome[mine] > DELAYED, years.reason[mine], 0)
    kinds, count = np.unique(fate, return_counts=True)
    alike = mine[fate == kinds[np.argmax(count)]]
    by_hours = alike[np.argsort(years.party_h[alike], kind="stable")]
    return int(years.replication[by_hours[(len(by_hours) - 1) // 2]])


def worst_of(years: TripYears, mine: Array) -> int:
    """Return the worst replication: broken off, else not begun, else the latest; of these the most hours."""
    outcome = years.outcome[mine].astype(np.int64)
    grave = np.where(outcome == BROKEN_OFF, outcome.max() + 1, outcome)
    order = np.lexsort((-years.party_h[mine], -grave))
    return int(years.replication[mine[order[0]]])


def nearest(stops: Mapping[int, Stop]) -> int:
    """Return the replication that lacked least: an earlier hour would have done, else the fewest and smallest lacks."""
    def lacks(replication: int) -> tuple[float, float, int]:
        stop = stops[replication]
        if stop.earlier_h is not None:
            return 0.0, stop.earlier_h, replication
        sizes = [w.margin / STEP.get(w.unit, 1.0) for w in stop.whys if w.margin is not None]
        return (1.0, max(sizes), replication) if sizes else (2.0, 0.0, replication)
    return min(stops, key=lacks)


def day_of(kind: str, told: ToldYear, trip: int, replication: int, judged: int = 0) -> TripDay:
    """Return one trip of a told year.

    Parameters
    ----------
    kind : str        What is told of it.
    told : ToldYear   The year.
    trip : int        Row of the trip.
    replication : int
    judged : int      Row of the judged trip, -1 for none.
    """
    mine = told.flights["trip"] == trip
    row = int(np.flatnonzero(told.trips["trip"] == trip)[0])
    facts = {key[1:]: fact for key, fact in told.explained.flights.items() if key[0] == trip}
    weather = tuple(told.weather[n] for n in np.flatnonzero(mine))
    return TripDay(kind, replication, str(told.trips["outcome"][row]), str(told.trips["reason"][row]),
                   told.explained.why.get(trip, ""), told.explained.how.get(trip, ""),
                   {name: values[mine] for name, values in told.flights.items()}, facts, weather, judged)


def commonest_among(years: TripYears, trip: int, chosen: Sequence[int]) -> int:
    """Return which of a few replications stands best for a trip: the first of its most frequent fate, if any."""
    mine = np.flatnonzero(years.trip == trip)
    if not len(mine):
        return chosen[0]
    fates = dict(zip(years.replication[mine].tolist(), years.outcome[mine].tolist(), strict=True))
    usual = fates[usual_of(years, mine)]
    alike = [r for r in chosen if fates.get(r) == usual] or [r for r in chosen if r in fates] or list(chosen)
    return alike[0]
