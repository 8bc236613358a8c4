"""What ceilings and visibility are held against: thresholds, hours and forecasts of a candidate's legs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.base.axes import APART, axis, take
from missionsim.flight.minima import Minima, VisualMinimum


@dataclass(frozen=True, slots=True)
class ForecastRows:
    """Forecasts by their row among those drawn in every replication (`Enroute.forecasts`); -1 for none."""

    row: Ints

    def of(self, forecasts: Array) -> Array:
        """Return the forecasts; where there is none, any."""
        return forecasts.take(self.row, mode="clip")

    def asked(self) -> Ints:
        """Return all rows asked for, flat."""
        return self.row[self.row >= 0]

    def among(self, kept: Ints) -> ForecastRows:
        """Return the same forecasts when only some rows are kept, in rising order."""
        return ForecastRows(np.where(self.row < 0, -1, np.searchsorted(kept, self.row)))


@dataclass(frozen=True, slots=True)
class ForecastKeys:
    """Forecasts by a number that names place, hour looked at and hours ahead; -1 for none.

    A study collects the keys of all its candidates before each has its row.
    """

    key: Ints

    def asked(self) -> Ints:
        """Return all keys asked for, flat."""
        return self.key[self.key >= 0]

    def among(self, kept: Ints) -> ForecastRows:
        """Return the rows of the forecasts among the keys drawn, in rising order."""
        return ForecastRows(np.where(self.key < 0, -1, np.searchsorted(kept, self.key)))


Named = TypeVar("Named", ForecastKeys, ForecastRows)


@dataclass(frozen=True, slots=True)
class Ahead(Generic[Named]):
    """Forecasts that are asked for in every replication, and their spread."""

    forecast: Named = axis("leg")
    sd: Array = axis("leg")

    def among(self, kept: Ints) -> Ahead[ForecastRows]:
        """Return the same with forecasts by row among those kept, in rising order."""
        return Ahead(self.forecast.among(kept), self.sd)


@dataclass(frozen=True, slots=True)
class LooksAhead(Generic[Named]):
    """Forecasts of airports: of arrival an hour before every slot; half a day before the planned hour, of both ends."""

    arrival: Ahead[Named] = axis("leg")
    long_arrival: Ahead[Named] = axis("leg")
    long_departure: Ahead[Named] = axis("leg")

    def asked(self) -> list[Ints]:
        """Return keys or rows of all that is asked for."""
        return [ahead.forecast.asked() for ahead in (self.arrival, self.long_arrival, self.long_departure)]

    def among(self, kept: Ints) -> LooksAhead[ForecastRows]:
        """Return the same with forecasts by row among those kept, in rising order."""
        return LooksAhead(self.arrival.among(kept), self.long_arrival.among(kept), self.long_departure.among(kept))


@dataclass(frozen=True, slots=True)
class RouteLooks(Generic[Named]):
    """Looks along ways flown visually: which legs and slots, what is forecast of the way, and what is seen from it.

    `leg`, `slot` [n]. The last axis of forecasts and limits holds a point and one to either side, by which low weather
    is gone round. At all sample points [n, k, 3], before setting out: `ahead`, `limit`, `sd`: forecast, the visual
    minimum, what it may be off. On the way, at few [n, j, 3]: `seen`: the weather of a point when the point before it
    is passed; `met`: when it is passed itself;
    `seen_limit`, `met_limit`: the pilot's minimum then, `legal_limit`: the law's; `share` [n, j]: of the way.
    `risk` [n]: chance of weather below the minimum from which on nobody sets out. `night` [n]: what lies ahead is not
    seen.
    """

    leg: Ints = axis(APART)
    slot: Ints = axis("look")
    ahead: Named = axis("look")
    limit: Array = axis("look")
    sd: Array = axis("look")
    seen: Named = axis("look")
    met: Named = axis("look")
    seen_limit: Array = axis("look")
    met_limit: Array = axis("look")
    legal_limit: Array = axis("look")
    share: Array = axis("look")
    risk: Array = axis("look")
    night: Bools = axis("look")

    def asked(self) -> list[Ints]:
        """Return keys or rows of all that is asked for."""
        return [part.asked() for part in (self.ahead, self.seen, self.met)]

    def among(self, kept: Ints) -> RouteLooks[ForecastRows]:
        """Return the looks with forecasts by row among those kept, in rising order."""
        rows: Any = {name: getattr(self, name).among(kept) for name in ("ahead", "seen", "met")}
        return replace(self, **rows)  # type: ignore[return-value]

    def of_legs(self, legs: Ints, count: int) -> RouteLooks[Named] | None:
        """Return the looks of some of `count` legs, legs numbered anew."""
        new = np.full(count, -1, dtype=np.int64)
        new[legs] = np.arange(len(legs))
        keep = np.flatnonzero(new[self.leg] >= 0)
        return take(self, "look", keep, leg=new[self.leg[keep]]) if len(keep) else None


@dataclass(frozen=True, slots=True)
class GateThresholds:
    """Latent values by place, month and block, as `SurfaceClimate.thresholds` gives them, below which weather stops.

    `as_alternate`: what a place needs to be named as an alternate.
    """

    takeoff: Array
    landing: Array
    as_alternate: Array


@dataclass(frozen=True, slots=True)
class GateHours:
    """Hours of departure and arrival, arrays [leg, slot]; slots are the columns of `Schedule.looks`.

    `departure_i`, `arrival_i` are hour indices, `departure_at`, `arrival_at` flat indices into series of places that
    keep their whole year.
    """

    departure_i: Ints = axis("leg")
    arrival_i: Ints = axis("leg")
    departure_at: Ints = axis("leg")
    arrival_at: Ints = axis("leg")


@dataclass(frozen=True, slots=True)
class GateLimits:
    """Thresholds at the hours of legs, arrays [leg, slot]; `long_arrival`, `long_departure` [leg].

    `poor`: for leaving an alternate out, and `no_approach`: one is named whatever is forecast. `blocked`: forecast mean
    under which the chance of missing is too great.
    """

    takeoff: Array = axis("leg")
    landing: Array = axis("leg")
    poor: Array = axis("leg")
    no_approach: Bools = axis("leg")
    blocked: Array = axis("leg")
    long_arrival: Array = axis("leg")
    long_departure: Array = axis("leg")


@dataclass(frozen=True, slots=True)
class Alternates:
    """Alternates of places, arrays [place, k] padded with -1: rows of places, hours to each, rounded, and fuel."""

    place: Ints
    hours: Ints
    gal: Array


@dataclass(frozen=True, slots=True)
class GateRisks:
    """Chances from which on a flight is put off: of missing at the destination, of destination and alternate both.

    `route_correlation`: of forecast errors along a way.
    """

    destination: float
    both: float
    route_correlation: float


@dataclass(frozen=True, slots=True)
class GatePlan:
    """Thresholds and indices of one candidate that no replication changes.

    `way` [leg]: row of the way points flown; `visual_leg` [leg]: legs that need to see all the way. `open_` [leg, slot]
    marks the slots that are looked at, columns of `Schedule.looks`. `landing`: lowest weather accepted by place,
    `takeoff`: to depart.
    """

    instrument: bool = axis(APART)
    landing: Minima = axis(APART)
    takeoff: VisualMinimum = axis(APART)
    thresholds: GateThresholds = axis(APART)
    risks: GateRisks = axis(APART)
    alternates: Alternates = axis(APART)
    visual_leg: Bools = axis("leg")
    open_: Bools = axis("leg")
    hours: GateHours = axis("leg")
    limits: GateLimits = axis("leg")
    ahead: LooksAhead[ForecastRows] = axis("leg")
    way: Ints = axis(APART)
    route_looks: RouteLooks[ForecastRows] | None = axis(APART)

    def asked(self, legs: Ints) -> Ints:
        """Return the rows of the forecasts that some legs need, each once, in rising order."""
        seen = None if self.route_looks is None else self.route_looks.of_legs(legs, len(self.way))
        rows = take(self.ahead, "leg", legs).asked()
        return np.unique(np.concatenate([*rows, *([] if seen is None else seen.asked())]))

    def of_legs(self, legs: Ints, ways: Ints, asked: Ints) -> GatePlan:
        """Return the gates of some legs, when only some ways and forecasts are kept (rows in rising order)."""
        cut = take(self, "leg", legs)
        seen = None if self.route_looks is None else self.route_looks.of_legs(legs, len(self.way))
        return replace(cut, ahead=cut.ahead.among(asked), way=np.searchsorted(ways, self.way[legs]),
                       route_looks=None if seen is None else seen.among(asked))
