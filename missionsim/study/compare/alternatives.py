"""What else one could do with the same trips: own a candidate, rent when needed, share, or have no aircraft at all."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions
from missionsim.money.categories import CATEGORIES, CODE, FIXED, OUTSIDE, Category
from missionsim.statistics.crossings import linear_crossing
from missionsim.statistics.intervals import exact_mean, measure, within
from missionsim.statistics.trade_off import Step, steps
from missionsim.study.compare.measures import hours_usd
from missionsim.study.replicate.tally import Tally

NONE, RENT, SHARE, OWN = "none", "rent", "share_of_three", "own"
NO_AIRCRAFT, A_THIRD_OF = "no aircraft", "a third of "
VALUES_OF_TIME = (0.0, 25.0, 50.0, 100.0)
"""Dollars an hour of an adult at which the order is shown, beside the study's own."""


@dataclass(frozen=True)
class Alternative:
    """One way of having all trips done, by replication.

    Parameters
    ----------
    kind : str                 `own`, `rent`, `share_of_three` or `none`.
    name : str
    usd : (n,) array           Everything but the value of time, car and airline included. [usd a year]
    travel_usd : (n,) array    Of that, car and airline.
    given_up_usd : (n,) array  Of that, worth of optional trips given up.
    hours, party_hours         Of all travellers on all wanted trips; of one traveller each. [h]
    valued_hours : (n,) array  As their hours are valued, the trips left out that any alternative gives up. [h]
    equal_hours : (n,) array   Of all travellers, the same trips left out. [h]
    made, otherwise, given_up  Trips made by light aircraft, by other means, not at all.
    time_usd : (n,) array      Value of all hours as the study has it.
    car_usd, rent_usd          Of the cost, driving, and the rate of a rented aircraft.
    headline : mapping         Of the net cost, with prices nobody gave laid over the years.
    local_usd : (n,) array     Of the cost, local flying; none where there is no aircraft. [usd]
    must_go_lost : (n,) array  Trips that had to be made and were not, by light aircraft; with no aircraft all of them.
    estimate : bool            Worked out from another alternative's years, not flown.
    """

    kind: str
    name: str
    usd: Array
    travel_usd: Array
    given_up_usd: Array
    hours: Array
    party_hours: Array
    valued_hours: Array
    equal_hours: Array
    made: Array
    otherwise: Array
    given_up: Array
    time_usd: Array
    car_usd: Array
    rent_usd: Array
    local_usd: Array
    must_go_lost: Array
    estimate: bool = False
    headline: Mapping[str, float | None] | None = None

    @property
    def net_usd(self) -> Array:
        """Everything, hours as the study values them. [usd a year]"""
        return np.asarray(self.usd + self.time_usd)

    def at(self, value_usd_per_h: float) -> Array:
        """Return the cost a year with an adult hour at a value, over trips that no alternative gives up. [usd]"""
        return np.asarray(self.usd + value_usd_per_h * self.valued_hours)

    def entry(self, most_trips: float = math.inf) -> dict[str, Any]:
        """Return it under the keys of the printed object; of trips there are at most so many a year."""
        counted = {"car_and_airline_usd": self.travel_usd, "given_up_usd": self.given_up_usd, "trips_made": self.made,
                   "trips_by_other_means": self.otherwise, "trips_given_up": self.given_up,
                   "must_go_lost": self.must_go_lost,
                   "door_to_door_hours": self.hours, "compared_hours": self.equal_hours,
                   "party_hours": self.party_hours, "local_usd": self.local_usd}
        return {"kind": self.kind, "name": self.name, "estimate": self.estimate,
                "net_cost_usd": self.headline or measure(self.net_usd),
                **{name: within(measure(values), 0.0, most_trips if name.startswith(("trips_", "must_")) else math.inf)
                   for name, values in counted.items()}}


@dataclass(frozen=True)
class Alternatives:
    """All alternatives of a study, the candidates first, in the study's order.

    `independent`: rows of values by replication to what intervals rest on, themselves or batches; of fewer than
    `least_rows` none is told. `most_trips`: trips of a year at most.
    """

    every: tuple[Alternative, ...]
    independent: Callable[[Array], Array] = np.asarray
    least_rows: int = 2
    most_trips: float = math.inf

    @property
    def few(self) -> bool:
        """Whether too few years were flown to tell an interval."""
        return bool(self.independent(self.none.usd[None]).shape[1] < self.least_rows)

    def at_prices(self, found: Mapping[str, tuple[Array, Mapping[str, float | None]]]) -> Alternatives:
        """Return the alternatives with prices nobody gave averaged over their draws.

        Parameters
        ----------
        found : mapping   By name: net cost by replication, (n,), and its headline. Of the share, which is not in it,
                          the cost rises as that of its aircraft does.
        """
        out = []
        for one in self.every:
            if one.kind == SHARE:
                whole = next(x for x in self.every if one.name.endswith(x.name) and x.kind == OWN)
                share = exact_mean(found[whole.name][0]) / exact_mean(whole.net_usd)
                out.append(replace(one, usd=one.usd * share))
                continue
            net, headline = found[one.name]
            out.append(replace(one, usd=net - one.time_usd, headline=headline))
        return replace(self, every=tuple(out))

    def of(self, kind: str) -> Alternative | None:
        """Return the first alternative of a kind."""
        return next((x for x in self.every if x.kind == kind), None)

    @property
    def none(self) -> Alternative:
        """Return the alternative of having no aircraft."""
        found = self.of(NONE)
        assert found is not None  # there always is
        return found

    def entries(self) -> tuple[dict[str, Any], ...]:
        """Return what is not owned, as printed."""
        return tuple(x.entry(self.most_trips) for x in self.every if x.kind != OWN)

    def efficient(self) -> tuple[dict[str, Any], ...]:
        """Return what nothing beats in dollars and hours of all travellers, the cheapest first, with its steps."""
        flown = [x for x in self.every if not x.estimate]
        found = steps(*(self.independent(np.stack([getattr(x, name) for x in flown]))
                        for name in ("usd", "equal_hours", "made")))
        if self.few:
            found = [replace(step, per_saved=None, per_gained=None, level=True) for step in found]
        return tuple(_efficient(flown, step) for step in found)

    def by_value_of_time(self, own_usd_per_h: float) -> tuple[dict[str, Any], ...]:
        """Return the order by mean cost at some values of an adult hour, the study's own among them."""
        values = sorted({*VALUES_OF_TIME, own_usd_per_h})
        found = []
        for value in values:
            means = {x.name: exact_mean(x.at(value)) for x in self.every if not x.estimate}
            order = sorted(means, key=lambda name: means[name])
            found.append({"usd_per_h": value, "order": order, "net_cost_usd": {n: means[n] for n in order}})
        return tuple(found)

    def equals_not_owning(self, name: str) -> dict[str, float | None]:
        """Return the value of an adult hour at which a candidate costs as much as having no aircraft.

        `at, low, high` [usd/h]; None where it is never reached: where it saves no hours, or where that cannot be told.
        """
        one = next(x for x in self.every if x.name == name and x.kind == OWN)
        usd, hours = self.independent(np.stack([one.usd - self.none.usd, one.valued_hours - self.none.valued_hours]))
        point = linear_crossing(usd, hours)
        if point is None or point.rising or point.at < 0.0 or point.high is None:
            return {"at": None, "low": None, "high": None}
        if self.few:
            return {"at": point.at, "low": None, "high": None}
        return {"at": point.at, "low": None if point.low is None else max(point.low, 0.0), "high": point.high}


def alternatives(tallies: Sequence[Tally], rented: Tally | None, lead: int, assumptions: Assumptions,
                 local_usd: Sequence[Array] | None = None,
                 independent: Callable[[Array], Array] = np.asarray, least_rows: int = 2,
                 most_trips: float = math.inf) -> Alternatives:
    """Return everything one could do with the trips of a study.

    Parameters
    ----------
    tallies : sequence of Tally   One a candidate.
    rented : Tally or None        Of the aircraft that can be rented.
    lead : int                    The candidate of which a share is estimated.
    assumptions : Assumptions
    independent, least_rows, most_trips   See `Alternatives`.
    local_usd : sequence of (n,) array   What local flying adds to a year, one array a candidate, then the rented one;
                                         None where nobody flies any.
    """
    flown = [*tallies, *([] if rented is None else [rented])]
    if local_usd is None:
        local_usd = [np.zeros(len(t.replications)) for t in flown]
    left_out = np.any([t.trips.given_up for t in flown], axis=0) | tallies[0].trips.other_given_up
    found = [_flown(OWN, t, left_out, usd) for t, usd in zip(tallies, local_usd, strict=False)]
    found += [] if rented is None else [_flown(RENT, rented, left_out, local_usd[-1])]
    found.append(_shared(tallies[lead], left_out, assumptions, local_usd[lead]))
    found.append(_none(tallies[0], left_out))
    return Alternatives(tuple(found), independent, least_rows, most_trips)


@dataclass(frozen=True)
class AsAsked:
    """One candidate with trips that were moved, adapted or marginal counted as not made, and made the other way.

    `made` (n,) and `usd` (n,): trips made and net cost by replication. `most_trips`: trips of a year at most.
    """

    name: str
    made: Array
    usd: Array
    most_trips: float = math.inf

    def entry(self) -> dict[str, Any]:
        """Return it under the keys of the printed object."""
        made = within(measure(self.made), 0.0, self.most_trips)
        return {"name": self.name, "trips_made": made, "net_cost_usd": measure(self.usd)}


def as_asked(tallies: Sequence[Tally], net_usd: Array, most_trips: float = math.inf) -> tuple[AsAsked, ...]:
    """Return the candidates with trips that were not made as they were asked for counted as not made.

    Parameters
    ----------
    tallies : sequence of Tally   One a candidate.
    net_usd : (k, n) array        Net cost by candidate and replication.
    """
    found = []
    for part, net in zip(tallies, net_usd, strict=True):
        t, reps = part.trips, part.replications
        marked, gone = t.made & ~t.as_asked, t.other_given_up
        usd = np.where(gone, t.other_value_usd, t.other_usd).astype(np.float64) - t.flown_usd
        hours = np.where(gone, 0.0, t.other_h * t.weight_otherwise).astype(np.float64) - t.valued_h
        more = t.sums(np.where(marked, usd + _value_of_time(part) * hours, 0.0), reps)
        found.append(AsAsked(part.name, t.sums(t.as_asked, reps), np.asarray(net + more), most_trips))
    return tuple(found)


def does_the_job(part: Tally, least_share: float | None, must: Sequence[bool]) -> tuple[str, str]:
    """Return `yes`, `no` or `too close to tell`, and the reason where it is not yes.

    Parameters
    ----------
    part : Tally
    least_share : float or None   Least share of wanted trips that must be made.
    must : sequence of bool       By row of the trip table: trips that must be possible; empty where trips vary.
    """
    never = [k for k, asked in enumerate(must) if asked and len(part.by_trip) and part.by_trip[k].sum() > 0
             and part.by_trip[k, :2].sum() == 0]
    if never:
        return "no", f"{len(never)} of the trips that must be possible {'is' if len(never) == 1 else 'are'} never made"
    if least_share is None:
        return "yes", ""
    made, wanted = part.column("completed"), part.column("trips_wanted")
    found = measure(made - least_share * wanted)
    share = 100.0 * made.sum() / max(wanted.sum(), 1.0)
    why = f"makes {share:.0f} % of the trips, {100.0 * least_share:.0f} % are asked for"
    if found["low"] is None or found["high"] is None:
        return "too close to tell", why
    if found["low"] >= 0.0:
        return "yes", ""
    return ("no" if found["high"] < 0.0 else "too close to tell"), why


def _efficient(flown: Sequence[Alternative], step: Step) -> dict[str, Any]:
    one = flown[step.row]

    def named(values: tuple[float | None, ...] | None) -> dict[str, float | None] | None:
        return None if values is None else dict(zip(("mean", "low", "high"), values, strict=True))

    return {"kind": one.kind, "name": one.name, "usd": exact_mean(one.usd), "hours": exact_mean(one.equal_hours),
            "trips_made": exact_mean(one.made), "extra_usd": named(step.extra), "hours_saved": named(step.saved),
            "trips_more": named(step.gained), "usd_per_hour_saved": named(step.per_saved),
            "usd_per_trip_more": named(step.per_gained), "level": step.level}


def _flown(kind: str, part: Tally, left_out: Array, local_usd: Array) -> Alternative:
    trips, reps = part.trips, part.replications
    time_usd = hours_usd(part)

    def over(values: Array) -> Array:
        return trips.sums(np.where(left_out, 0.0, values), reps)

    return Alternative(
        kind, part.name, part.column("net_cost_cents") / 100.0 - time_usd,
        part.column("car_usd") + part.column("airline_usd"), part.column("given_up_usd"),
        part.column("door_to_door_hours"), part.column("party_hours"), over(trips.valued_h), over(trips.person_h),
        part.column("completed"), part.column("trips_by_other_means"), part.column("trips_given_up"), time_usd,
        part.column("car_usd"), part.categories[:, CODE[Category.RENT]] / 100.0, local_usd,
        part.column("must_go_lost"))


def _none(part: Tally, left_out: Array) -> Alternative:
    """Return having no aircraft: every trip goes the other way, or is given up."""
    trips, reps = part.trips, part.replications
    gone, without = trips.other_given_up, trips.without_aircraft()
    hours, usd, valued = without.hours, without.usd, without.valued_h

    def over(values: Array) -> Array:
        return trips.sums(values, reps)

    lost = over(without.lost_usd)
    return Alternative(NONE, NO_AIRCRAFT, over(usd) + lost, over(usd), lost, over(hours * trips.people), over(hours),
                       over(np.where(left_out, 0.0, valued)), over(np.where(left_out, 0.0, hours * trips.people)),
                       np.zeros(len(reps)), over(~gone), over(gone), _value_of_time(part) * over(valued),
                       over(np.where(trips.other_airline, 0.0, usd)), np.zeros(len(reps)), np.zeros(len(reps)),
                       over(trips.must_go))


def _value_of_time(part: Tally) -> float:
    """Return dollars an hour as the study values them, read off what was booked."""
    hours = float(part.column("valued_hours").sum())
    return float(part.categories[:, CODE[Category.TIME]].sum()) / 100.0 / hours if hours else 0.0


def _shared(part: Tally, left_out: Array, a: Assumptions, local_usd: Array) -> Alternative:
    """Return a third of one candidate, estimated: a third of what comes anyway, trips when it is free, local hours."""
    free, others = float(a["keeping.share_available_share"]), 3
    premium = a["insurance.partner_factor"] ** (others - 1) / others
    factor = np.array([premium if c is Category.INSURANCE else 1.0 / others if c in FIXED else
                       0.0 if c in OUTSIDE else free for c in CATEGORIES])
    trips, reps = part.trips, part.replications
    made = trips.made
    other_usd = np.where(trips.other_given_up, trips.other_value_usd, trips.other_usd).astype(np.float64)

    def over(values: Array) -> Array:
        return trips.sums(values, reps)

    def mixed(as_made: Array, otherwise: Array) -> Array:
        return np.where(made, free * as_made + (1.0 - free) * otherwise, as_made)

    gone = trips.other_given_up
    other_h = np.where(gone, 0.0, trips.other_h)
    party = mixed(trips.party_h, other_h)
    person = mixed(trips.person_h, other_h * trips.people)
    valued = mixed(trips.valued_h, other_h * trips.weight_otherwise)
    lost_usd = over(np.where(made, (1.0 - free) * other_usd, 0.0))
    own = part.categories / 100.0 @ factor + part.categories[:, CODE[Category.SUBSTITUTE]] / 100.0 + lost_usd
    own = own + (1.0 - free) * local_usd
    more = over(np.where(made & ~gone, (1.0 - free) * other_usd, 0.0))
    travel = part.column("car_usd") + part.column("airline_usd") + more
    lost = part.column("completed") * (1.0 - free)
    return Alternative(SHARE, f"{A_THIRD_OF}{part.name}", own, travel, part.column("given_up_usd"), over(person),
                       over(party), over(np.where(left_out, 0.0, valued)), over(np.where(left_out, 0.0, person)),
                       free * part.column("completed"), part.column("trips_by_other_means") + lost,
                       part.column("trips_given_up"), _value_of_time(part) * over(valued), part.column("car_usd"),
                       np.zeros(len(reps)), local_usd, over(np.where(made, 1.0 - free, 1.0) * trips.must_go),
                       estimate=True)
