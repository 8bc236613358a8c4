"""Trips made up from how often one goes where, for people without a trip list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.year.schedule import DAYS_AFTER_YEAR
from missionsim.year.trips import (
    Trip,
    TripTable,
    clock,
    first_departure,
    last_departure,
    plan_departures,
    trips_in_order,
    usual_bags_lb,
    usual_evening_h,
    usual_flexibility,
    usual_moves,
)

SEASON_MONTHS: dict[str, tuple[int, ...]] = {"winter": (12, 1, 2), "spring": (3, 4, 5), "summer": (6, 7, 8),
                                             "autumn": (9, 10, 11)}
"""Meteorological seasons of the northern half of the earth; the southern half has them half a year later."""


@dataclass(frozen=True, slots=True)
class DemandLine:
    """One kind of trip and how often it is made.

    Parameters
    ----------
    places : tuple of str         Airports in order, without home.
    per_year : float              Mean number a year; the number of one year is Poisson.
    month_weight : 12 floats      Relative frequency by month, January first; at least one above 0.
    weekdays : tuple of int       Days of departure, Monday is 0.
    nights, adults, children      Number to weight.
    leave_local_h, return_local_h : float or None     Hours of the day; None is the usual one. [h]
    bags_lb : (low, likely, high) or None             Triangular; None is the usual weight. [lb]
    must_go_share : float
    earlier_h, later_h, return_earlier_h, return_later_h : float or None     None is the usual one. [h]
    """

    places: tuple[str, ...]
    per_year: float
    month_weight: tuple[float, ...] = (1.0,) * 12
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    nights: Mapping[int, float] | None = None
    adults: Mapping[int, float] | None = None
    children: Mapping[int, float] | None = None
    leave_local_h: float | None = None
    return_local_h: float | None = None
    bags_lb: tuple[float, float, float] | None = None
    must_go_share: float = 0.0
    optional_value_usd: float | None = None
    earlier_h: float | None = None
    later_h: float | None = None
    return_earlier_h: float | None = None
    return_later_h: float | None = None
    purpose: str = ""
    member: str | None = None


def season_weights(seasons: Mapping[str, float] | None, southern: bool) -> tuple[float, ...]:
    """Return a weight for each month from weights of seasons; seasons not named weigh nothing.

    Parameters
    ----------
    seasons : mapping or None   Season to weight; None is the same all year.
    southern : bool             Home lies south of the equator.
    """
    if seasons is None:
        return (1.0,) * 12
    shift = 6 if southern else 0
    by_month = {(m - 1 + shift) % 12: float(w) for name, w in seasons.items() for m in SEASON_MONTHS[name]}
    return tuple(by_month.get(m, 0.0) for m in range(12))


def generate(lines: Sequence[DemandLine], home: str, year: int, assumptions: Assumptions,
             generators: Sequence[np.random.Generator]) -> TripTable:
    """Return the trips of one year.

    Each line draws from its own generator, so another line changes none of its draws. Trips of one member that would
    overlap are moved to the nearest free day of an allowed weekday, later lines giving way to earlier ones.

    Parameters
    ----------
    lines : sequence of DemandLine
    home : str
    year : int
    assumptions : Assumptions          Group `trip`.
    generators : sequence of Generator One a line.

    Returns
    -------
    TripTable                          Perhaps empty.
    """
    taken: dict[str | None, list[tuple[date, date]]] = {}
    trips = []
    for i, (line, rng) in enumerate(zip(lines, generators, strict=True)):
        days = _days(line, year)
        for k, drawn in enumerate(_draw(line, days, rng)):
            day = _free_day(drawn, line, taken.setdefault(line.member, []), assumptions, year)
            taken[line.member].append((day, day + timedelta(days=drawn.nights)))
            trips.append(_trip(line, _home_in_time(drawn, day, year), day, f"{i + 1}.{k + 1}", home, assumptions))
    return TripTable(trips_in_order(trips), home, year)


@dataclass(frozen=True, slots=True)
class _Drawn:
    day: date
    nights: int
    adults: int
    children: int
    bags_lb: float | None
    must_go: bool


def _days(line: DemandLine, year: int) -> tuple[list[date], np.ndarray]:
    start = date(year, 1, 1)
    days = [start + timedelta(days=i) for i in range((date(year + 1, 1, 1) - start).days)]
    weight = np.array([line.month_weight[d.month - 1] * (d.weekday() in line.weekdays) for d in days])
    return days, weight / weight.sum() if weight.sum() > 0 else weight


def _draw(line: DemandLine, days: tuple[list[date], np.ndarray], rng: np.random.Generator) -> list[_Drawn]:
    """Draw everything about a line's trips, as arrays in a fixed order."""
    number = int(rng.poisson(line.per_year)) if days[1].any() else 0
    when = np.sort(rng.choice(len(days[0]), size=number, p=days[1])) if number else np.zeros(0, int)
    nights, adults, children = (_pick(weights, number, rng) for weights in
                                (line.nights or {0: 1.0}, line.adults or {1: 1.0}, line.children or {0: 1.0}))
    bags, must = rng.uniform(size=number), rng.uniform(size=number) < line.must_go_share
    weights = _triangular(bags, line.bags_lb)
    return [_Drawn(days[0][when[k]], int(nights[k]), int(adults[k]), int(children[k]),
                   None if weights is None else float(weights[k]), bool(must[k])) for k in range(number)]


def _pick(weights: Mapping[int, float], number: int, rng: np.random.Generator) -> np.ndarray:
    share = np.array(list(weights.values()), dtype=float)
    edges = np.cumsum(share / share.sum())
    rows = np.searchsorted(edges, rng.uniform(size=number), side="right")
    return np.array(list(weights), dtype=int)[np.minimum(rows, share.size - 1)]


def _triangular(u: np.ndarray, spread: tuple[float, float, float] | None) -> np.ndarray | None:
    """Return the inverse of the triangular distribution, to whole pounds."""
    if spread is None:
        return None
    low, likely, high = spread
    if high <= low:
        return np.full(u.shape, low)
    cut = (likely - low) / (high - low)
    rising = low + np.sqrt(u * (high - low) * (likely - low))
    falling = high - np.sqrt((1.0 - u) * (high - low) * (high - likely))
    return np.asarray(np.round(np.where(u < cut, rising, falling)))


def _free_day(drawn: _Drawn, line: DemandLine, taken: Sequence[tuple[date, date]], assumptions: Assumptions,
              year: int) -> date:
    gap = timedelta(days=int(assumptions["trip.clear_days_between"]))
    stay = timedelta(days=drawn.nights)

    def free(day: date) -> bool:
        return all(day + stay + gap < a or day > b + gap for a, b in taken)

    farthest = int(assumptions["trip.generated_shift_days"])
    for shift in sorted(range(-farthest, farthest + 1), key=lambda s: (abs(s), s)):
        day = drawn.day + timedelta(days=shift)
        if day.year == year and (day.weekday() in line.weekdays) and line.month_weight[day.month - 1] and free(day):
            return day
    return drawn.day


def _home_in_time(drawn: _Drawn, day: date, year: int) -> _Drawn:
    """Return the trip with no more nights than let it come home while flying is looked at."""
    latest = date(year + 1, 1, DAYS_AFTER_YEAR)
    return replace(drawn, nights=min(drawn.nights, (latest - day).days))


def _trip(line: DemandLine, drawn: _Drawn, day: date, name: str, home: str, assumptions: Assumptions) -> Trip:
    leave = None if line.leave_local_h is None else clock(line.leave_local_h)
    back = None if line.return_local_h is None else clock(line.return_local_h)
    first = first_departure(day, leave, assumptions)
    last = last_departure(first, day + timedelta(days=drawn.nights), back, len(line.places), assumptions)
    last = max(last, _earliest(first, len(line.places), assumptions))
    usual = usual_flexibility(drawn.nights, assumptions)
    people = drawn.adults + drawn.children
    bags = usual_bags_lb(people, drawn.nights, assumptions) if drawn.bags_lb is None else drawn.bags_lb
    must, optional = drawn.must_go, None if drawn.must_go else line.optional_value_usd
    moves = usual_moves(optional is not None, assumptions)
    stops = (home, *line.places, home)
    return Trip(name, stops, plan_departures(first, last, len(stops) - 1, assumptions), drawn.adults, drawn.children,
                bags, must, optional, _or(line.earlier_h, usual.earlier_h), _or(line.later_h, usual.later_h),
                _or(line.return_earlier_h, usual.return_earlier_h), _or(line.return_later_h, usual.return_later_h),
                line.purpose, line.member, days_earlier=moves.days_earlier, days_later=moves.days_later,
                day_step=moves.day_step, evening_h=usual_evening_h(must, line.earlier_h, assumptions))


def _earliest(first: datetime, places: int, assumptions: Assumptions) -> datetime:
    """Return the first moment a journey home can be planned: legs take some time whatever the user's hours say."""
    return first + timedelta(hours=places * assumptions["trip.leg_allowance_h"])


def _or(given: float | None, usual: float) -> float:
    return usual if given is None else given
