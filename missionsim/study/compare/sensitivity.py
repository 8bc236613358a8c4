"""What the answer hangs on: bars of one assumption at a time, and the points at which the choice changes hands.

Everything here costs the years already flown again; routes, loads and refusals stay as flown.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions
from missionsim.money.categories import CODE, Category
from missionsim.money.purchase_terms import PurchaseTerms, closing_price_usd
from missionsim.statistics.crossings import TippingPoint, crossing, linear_crossing
from missionsim.statistics.intervals import exact_mean, ratio_interval
from missionsim.study.compare.ownership import batch_means, least_rows
from missionsim.study.compare.recost import Change, Recosted
from missionsim.study.replicate.ownership_years import years_kept

REPAIRS = (Category.REPAIR, Category.REPAIR_TRAVEL, Category.ANNUAL, Category.COMPONENTS)


@dataclass(frozen=True, slots=True)
class Bar:
    """How the answer moves when one input does.

    `low_usd`, `high_usd`: mean cost a year by candidate with the input at `low` and `high`. `swing_usd`: how far that
    moves the difference between the cheapest two. `changes_hands`: another candidate is cheapest at one end.
    """

    what: str
    unit: str
    low: float
    high: float
    source: str
    low_usd: Mapping[str, float]
    high_usd: Mapping[str, float]
    swing_usd: float
    changes_hands: bool


@dataclass(frozen=True, slots=True)
class Tipping:
    """A value of one condition at which the cheapest candidate changes; `from_name` below it, `to_name` above.

    `low`, `high`: between them the two are not clearly different; None where that side stays open. `how`: how it was
    found. `today`: what the condition is in the study as it stands.
    """

    variable: str
    unit: str
    at: float | None
    low: float | None
    high: float | None
    from_name: str
    to_name: str
    how: str
    today: float

    @property
    def placed(self) -> bool:
        """Whether it can be told on which side of it today is: its interval is closed and does not hold today."""
        return self.low is not None and self.high is not None and not self.low <= self.today <= self.high

    def entry(self) -> dict[str, Any]:
        """Return it under the keys of the printed object."""
        return {"variable": self.variable, "unit": self.unit, "at": self.at, "low": self.low, "high": self.high,
                "from": self.from_name, "to": self.to_name, "how": self.how, "today": self.today, "placed": self.placed}


@dataclass(frozen=True, slots=True)
class Offer:
    """The price to pay at which a candidate costs as much as its cheapest rival, with its interval; None: at no price.

    `paid_usd`: what is counted as paid, the price asked less the usual discount.
    `market_value_usd`: what such an aircraft sells for; it is insured and sold by that, whatever is paid.
    `engine_hour_usd`: what one engine hour more or less is worth in the price paid, with its interval: engines' lives
    and states are drawn with the years.
    """

    candidate: str
    rival: str
    asking_usd: float
    paid_usd: float
    market_value_usd: float
    equal_usd: float | None
    low_usd: float | None
    high_usd: float | None
    engine_hour_usd: float | None
    engine_hour_low_usd: float | None
    engine_hour_high_usd: float | None


@dataclass(frozen=True, slots=True)
class _Input:
    what: str
    unit: str
    low: float
    high: float
    source: str
    change: Callable[[float], Change]


def bars(recosted: Recosted) -> tuple[Bar, ...]:
    """Return the bars of a study, the one that moves the answer most first."""
    base = recosted.costs().mean(axis=1)
    order = np.argsort(base, kind="stable")
    found = [_bar(recosted, item, int(order[0]), int(order[min(1, len(order) - 1)])) for item in _inputs(recosted)]
    return tuple(sorted(found, key=lambda b: -b.swing_usd))


def tippings(recosted: Recosted) -> tuple[Tipping, ...]:
    """Return the points at which the choice changes hands, for all conditions that need no new flight."""
    prices, hours = recosted.prepared.prices, _hours_of_cheapest(recosted)
    found = [*_by_change(recosted, "fuel_usd_per_gal", "$/gal", 2.0, 20.0, 0.005, _fuel(recosted),
                         prices.fuel_usd_per_gal),
             *_by_change(recosted, "flight_hours_per_year", "h of the cheapest", 0.25, 4.0, 0.002,
                         lambda v: Change(trips=v), hours(1.0), hours),
             *_by_change(recosted, "engine_overhaul_factor", "x today's price", 0.5, 3.0, 0.005, _overhaul(), 1.0),
             *_by_change(recosted, "own_money_share_per_year", "1/year", 0.0, 0.25, 0.0002, _interest,
                         prices.own_money_share_per_year),
             *_by_trips(recosted)]
    return (*found, *_by_years(recosted))


def offers(recosted: Recosted) -> tuple[Offer, ...]:
    """Return for each candidate the price at which it equals its cheapest rival by mean; empty for one alone."""
    base = recosted.costs()
    means = base.mean(axis=1)
    found = []
    for i, name in enumerate(recosted.names):
        others = [k for k in range(len(means)) if k != i]
        if not others:
            return ()
        rival = min(others, key=lambda k: means[k])
        cost = recosted.prepared.flyers[i].cost
        asking, step = cost.asking_price_usd, 0.1 * cost.asking_price_usd
        at_asking, dearer = (recosted.cost(i, Change(price_usd={i: asking + more})) for more in (0.0, step))
        slope = (dearer - at_asking) / step
        fixed = at_asking - base[rival] - slope * asking
        point = linear_crossing(_batches(recosted, fixed), _batches(recosted, slope))
        hour = (recosted.cost(i, Change(engine_h=100.0)) - base[i]) / 100.0
        worth = exact_mean(hour) / exact_mean(slope) if exact_mean(slope) else None
        least, most = (None, None) if _few(recosted) else ratio_interval(*(_batches(recosted, v)
                                                                           for v in (hour, slope)))[1:]
        at, low, high = (None, None, None) if point is None or point.at <= 0.0 else (point.at, point.low, point.high)
        low, high = (None if v is None or not 0.0 <= v <= 5.0 * asking or _few(recosted) else v for v in (low, high))
        paid = closing_price_usd(cost, PurchaseTerms(), recosted.prepared.study.assumptions)
        found.append(Offer(name, recosted.names[rival], asking, paid, cost.market_value_usd, at, low, high, worth,
                           least, most))
    return tuple(found)


def tied_down(recosted: Recosted) -> dict[str, dict[str, float]]:
    """Return by candidate what a tie-down saves and costs a year against the hangar. [usd]

    Rent saved; wear of paint, seals and avionics; heat on winter mornings; the chance of corrosion over the years kept.
    """
    p = recosted.prepared
    a = p.study.assumptions
    out = {}
    for part in recosted.tallies:
        rent = float(part.categories[:, CODE[Category.HANGAR]].mean() / 100.0)
        winter_trips = float(part.monthly[:, (0, 1, 11), 1].sum(axis=1).mean())
        heat = winter_trips * a["keeping.preheat_usd_per_day"]
        corrosion = a["ownership.corrosion_usd"] * a["ownership.corrosion_share"] / years_kept(p)
        out[part.name] = {"rent_saved_usd": rent - 12.0 * p.prices.tiedown_usd_per_month,
                          "wear_usd": a["cost.outdoor_wear_usd"], "preheat_usd": heat, "corrosion_usd": corrosion,
                          "start_delay_h": winter_trips * a["keeping.frost_min"] / 60.0}
    return out


def _batches(recosted: Recosted, values: Array) -> Array:
    """Return values as the intervals take them: ownerships in batches, since neighbours share years of weather."""
    return batch_means(values) if recosted.over_years else values


def _few(recosted: Recosted) -> bool:
    """Tell whether too few years, or batches of ownerships, were flown to tell an interval."""
    rows = _batches(recosted, np.zeros(len(recosted.tallies[0].replications)))
    return len(rows) < least_rows(recosted.prepared.study)


def _bar(recosted: Recosted, item: _Input, first: int, second: int) -> Bar:
    low, high = (recosted.costs(item.change(v)).mean(axis=1) for v in (item.low, item.high))
    swing = abs((high[first] - high[second]) - (low[first] - low[second]))
    hands = int(np.argmin(low)) != first or int(np.argmin(high)) != first
    names = recosted.names
    return Bar(item.what, item.unit, item.low, item.high, item.source,
               dict(zip(names, low.tolist(), strict=True)), dict(zip(names, high.tolist(), strict=True)),
               float(swing), hands)


def _inputs(recosted: Recosted) -> list[_Input]:
    """Return the inputs looked at: each between the low and high of its assumption, and two that owners ask about."""
    p = recosted.prepared
    a = p.study.assumptions
    fuel, own = a.entry("cost.fuel_usd_per_gal"), a.entry("cost.own_money_share")
    overhaul, annual = a.entry("engine_life.overhaul_usd"), a.entry("maintenance.annual_flat_usd")
    fare, hull, rent = (a.entry(f"cost.{k}") for k in ("airline_fare_usd", "car_usd_per_sm", "hangar_usd_per_month"))
    premium = a.entry("insurance.hull_share")

    def times(entry: Any) -> tuple[float, float]:
        values, lows, highs = ([*(e.values() if isinstance(e, dict) else [e])]
                               for e in (entry.value, entry.low, entry.high))
        paid = [i for i, v in enumerate(values) if v]   # what costs nothing has no multiples
        low, high = ([limit[i] / values[i] for i in paid] or [1.0] for limit in (lows, highs))
        return float(np.mean(low)), float(np.mean(high))

    def scaled(*categories: Category) -> Callable[[float], Change]:
        return lambda v: Change(scale=dict.fromkeys(categories, v))

    return [
        _Input("fuel price", "$/gal", fuel.low, fuel.high, fuel.source, _fuel(recosted)),
        _Input("fuel at 9 dollars", "$/gal", p.prices.fuel_usd_per_gal, 9.0, "the owner's question", _fuel(recosted)),
        _Input("engine overhaul", "x", *times(overhaul), overhaul.source, _overhaul()),
        _Input("engine overhaul at 90,000 dollars for every engine", "$", 0.0, 90_000.0, "the owner's question",
               _overhaul_at(recosted)),
        _Input("insurance premium", "x", *times(premium), premium.source, scaled(Category.INSURANCE)),
        _Input("hangar rent", "x", *times(rent), rent.source, scaled(Category.HANGAR)),
        _Input("annual and repairs", "x", *times(annual), annual.source, scaled(*REPAIRS)),
        _Input("airline fares and driving", "x", 0.5 * (times(fare)[0] + times(hull)[0]),
               0.5 * (times(fare)[1] + times(hull)[1]), fare.source,
               scaled(Category.SUBSTITUTE)),
        _Input("yield of own money", "1/year", own.low, own.high, own.source, _interest),
        _Input("trips a year", "x", 0.5, 1.5, "half as many and half as many again", lambda v: Change(trips=v)),
    ]


def _fuel(recosted: Recosted) -> Callable[[float], Change]:
    now = recosted.prepared.prices.fuel_usd_per_gal
    return lambda usd_per_gal: Change(scale={Category.FUEL: usd_per_gal / now})


def _interest(share: float) -> Change:
    return Change(own_money_share=share)


def _overhaul() -> Callable[[float], Change]:
    return lambda factor: Change(scale={Category.ENGINE_OVERHAUL: factor})


def _overhaul_at(recosted: Recosted) -> Callable[[float], Change]:
    """Return every engine's overhaul at one price; 0 stands for what each costs now."""
    a = recosted.prepared.study.assumptions
    now = a["engine_life.overhaul_usd"]
    return lambda usd: _overhaul_change(a, dict.fromkeys(now, usd) if usd else dict(now))


def _overhaul_change(a: Assumptions, usd: Mapping[str, float]) -> Change:
    return Change(assume={"engine_life.overhaul_usd": dict(usd)})


def _hours_of_cheapest(recosted: Recosted) -> Callable[[float], float]:
    hours = recosted.flight_hours(int(np.argmin(recosted.costs().mean(axis=1))))
    return lambda factor: factor * hours


def _by_change(recosted: Recosted, variable: str, unit: str, low: float, high: float, tolerance: float,
               change: Callable[[float], Change], today: float, shown: Callable[[float], float] = lambda v: v,
               ) -> list[Tipping]:
    """Return where the cheapest changes hands along one condition, by bisection."""
    known: dict[tuple[int, float], Array] = {}

    def cost(number: int, value: float) -> Array:     # of the two that are compared, not of all
        if (number, value) not in known:
            known[number, value] = recosted.cost(number, change(value))
        return known[number, value]

    def costs(value: float) -> Array:
        return np.stack([cost(number, value) for number in range(len(recosted.tallies))])

    found = []
    for i, j in _pairs(costs(low), costs(high)):
        point = crossing(_difference(recosted, cost, i, j), low, high, tolerance)
        how = "costs of the same flown years again, by bisection"
        found += _kept(recosted, point, (i, j), lambda v: costs(v).mean(axis=1), (low, high),
                       (variable, unit, how), today, shown)
    return sorted(found, key=lambda t: t.at or 0.0)


def _difference(recosted: Recosted, cost: Callable[[int, float], Array], i: int, j: int) -> Callable[[float], Array]:
    return lambda value: _batches(recosted, cost(i, value) - cost(j, value))


def _pairs(low: Array, high: Array) -> list[tuple[int, int]]:
    """Return pairs whose order by mean differs between the two ends."""
    a, b = low.mean(axis=1), high.mean(axis=1)
    return [(i, j) for i in range(len(a)) for j in range(i + 1, len(a)) if (a[i] - a[j]) * (b[i] - b[j]) < 0.0]


def _kept(recosted: Recosted, point: TippingPoint | None, pair: tuple[int, int], means: Callable[[float], Array],
          ends: tuple[float, float], told: tuple[str, str, str], today: float, shown: Callable[[float], float],
          ) -> list[Tipping]:
    """Return the crossing of a pair if both are cheapest there; crossings of two also-rans change no choice."""
    if point is None or not ends[0] <= point.at <= ends[1]:
        return []
    at = means(point.at)
    if min(at[list(pair)]) > at.min() + 1e-6 * abs(at.min()):
        return []
    below, above = pair if point.rising else pair[::-1]
    variable, unit, how = told
    low, high = (None if v is None or not ends[0] <= v <= ends[1] or _few(recosted) else shown(v)
                 for v in (point.low, point.high))
    return [Tipping(variable, unit, shown(point.at), low, high, recosted.names[below], recosted.names[above], how,
                    today)]


def _by_trips(recosted: Recosted) -> list[Tipping]:
    """Return where the choice changes hands if all trips were as long, or the party as large, as a given one.

    Each replication's costs by trip are fitted by a straight line in the trips' length or people; the fixed costs and
    the number of trips stay.
    """
    p = recosted.prepared
    if recosted.tallies[0].trip_cents.size == 0:
        return []
    people = p.schedule.people.astype(np.float64)
    away_nm = p.terms.total_nm / 2.0
    found = []
    for variable, unit, x in (("trip_length_nm", "nm one way", away_nm), ("party_size", "people", people)):
        lines = [_line(part.trip_cents / 100.0, x) for part in recosted.tallies]
        if lines[0] is None:
            continue
        found += _along(recosted, variable, unit, x, [line for line in lines if line is not None])
    return found


def _along(recosted: Recosted, variable: str, unit: str, x: Array, lines: Sequence[tuple[Array, Array]],
           ) -> list[Tipping]:
    n, base = len(x), recosted.costs()
    of_trips = [part.trip_cents.sum(axis=1) / 100.0 for part in recosted.tallies]
    rest = [base[i] - of_trips[i] for i in range(len(lines))]
    low, high = float(x.min()), float(x.max())

    def means(value: float) -> Array:
        return np.array([exact_mean(rest[i] + n * (a + b * value)) for i, (a, b) in enumerate(lines)])

    found = []
    for i in range(len(lines)):
        for j in range(i + 1, len(lines)):
            fixed = rest[i] - rest[j] + n * (lines[i][0] - lines[j][0])
            point = linear_crossing(_batches(recosted, fixed), _batches(recosted, n * (lines[i][1] - lines[j][1])))
            found += _kept(recosted, point, (i, j), means, (low, high),
                           (variable, unit, "straight line through the costs of single trips"), exact_mean(x),
                           lambda v: v)
    return sorted(found, key=lambda t: t.at or 0.0)


def _line(usd: Array, x: Array) -> tuple[Array, Array] | None:
    """Return intercept and slope of costs by trip over x, one of each a replication; None where x does not vary."""
    about = x - x.mean()
    square = float(about @ about)
    if square == 0.0:
        return None
    slope = usd @ about / square
    return usd.mean(axis=1) - slope * x.mean(), slope


def _by_years(recosted: Recosted) -> list[Tipping]:
    """Return the years kept at which the choice changes hands, between two whole numbers of years."""
    longest = years_kept(recosted.prepared)
    at = {y: recosted.costs(Change(years=y)) for y in range(1, longest + 1)}
    found = []
    for y in range(1, longest):
        before, after = at[y].mean(axis=1), at[y + 1].mean(axis=1)
        i, j = int(np.argmin(before)), int(np.argmin(after))
        if i != j:
            gap, then = before[i] - before[j], after[i] - after[j]
            found.append(Tipping("years_kept", "years", y + float(gap / (gap - then)), float(y), float(y + 1),
                                 recosted.names[i], recosted.names[j], "sold at the end of each year flown",
                                 float(longest)))
    return found
