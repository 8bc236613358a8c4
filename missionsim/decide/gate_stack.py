"""Gates of all candidates in one array each: a replication holds its weather against all of them at once.

Hours are those of `LookedSlots.hours`, flat. What does not count, such as hours nobody looks at, has a limit that no
weather is below, or that all weather is: nothing needs to be left out in a replication.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Floats, Floats32, Ints, Ints32
from missionsim.base.normal import normal_quantile
from missionsim.decide.gate_plan import ForecastRows, GatePlan, RouteLooks
from missionsim.world.random_fields.windows import DAYS
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.year.schedule import Schedule

MOST_HOURS = 200_000
"""Hours of all gates together for which they are kept stacked, some 70 bytes each beside the gates themselves; those of
longer lists are stacked for each candidate when it flies."""
ROUNDING = 1.000001
"""What is added to a quick estimate that must not pass what the thorough one would not."""


@dataclass(frozen=True, slots=True)
class RouteStack:
    """Looks along ways of all gates, each once, names as in `RouteLooks`; points on the way [point, look].

    `at`, `look` [n]: flat places among [gate, hour], and which look is taken there. Forecasts by row and limits [side,
    point, look]: a point, and those to either side; of no point no weather is below the limit, of no side all is. By
    night that holds for what is `seen`. `doubt` [look]: how far below the minimum, in standard deviations, the worst
    point lies at least where the chance may be too great.
    """

    at: Ints
    look: Ints
    ahead: Ints
    limit: Floats32
    sd: Floats
    risk: Floats
    doubt: Floats
    seen: Ints
    seen_limit: Floats32
    met: Ints
    met_limit: Floats32
    legal_limit: Floats32
    share: Floats
    correlation: float

    @classmethod
    def of(cls, looks: Sequence[RouteLooks[ForecastRows]], at: Ints, correlation: float) -> RouteStack:
        """Return the looks of some gates.

        Parameters
        ----------
        looks : sequence of RouteLooks
        at : (n,) int array       Flat places of all looks among [gate, hour].
        correlation : float       Of forecast errors along a way.
        """
        parts = [_by_look(one) for one in looks]
        every = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
        first, look = (np.arange(len(at)),) * 2
        if len(looks) > 1:      # more than a quarter of the demo's are also those of another aircraft
            first, look = _alike(list(every.values()))
        one = {name: np.ascontiguousarray(values[first].T) for name, values in every.items()}
        # So many points as bad as the worst: mostly even that is no risk, and no chance is worked out.
        doubt = normal_quantile(np.minimum(one["risk"] / (ROUNDING * len(one["sd"])), 1.0))
        return cls(at, look, doubt=doubt, correlation=correlation, **one)


def _by_look(looks: RouteLooks[ForecastRows]) -> dict[str, Array]:
    """Return the parts of a `RouteStack` with the look as first axis and the side as last."""
    seen_limit = _where_there(looks.seen.row, looks.seen_limit)
    seen_limit[looks.night, :, 0] = -np.inf
    rows = {name: np.maximum(getattr(looks, name).row, 0) for name in ("ahead", "seen", "met")}
    return {**rows, "limit": _where_there(looks.ahead.row, looks.limit), "sd": looks.sd[:, :, 0], "risk": looks.risk,
            "seen_limit": seen_limit, "met_limit": _where_there(looks.met.row, looks.met_limit),
            "legal_limit": _where_there(looks.met.row, looks.legal_limit), "share": looks.share}


def _where_there(rows: Ints, limit: Array) -> Array:
    """Return limits [look, point, side]; no weather is below that of no point, all is below that of no side."""
    out = np.where(rows >= 0, limit, np.asarray(np.inf, limit.dtype))
    out[:, :, 0][rows[:, :, 0] < 0] = -np.inf
    return out


def _alike(parts: Sequence[Array]) -> tuple[Ints, Ints]:
    """Return of entries that are alike in all parts the first, and by entry which of those it is."""
    many = len(parts[0])
    key = np.concatenate([np.ascontiguousarray(part).reshape(many, -1).view(np.uint8) for part in parts], axis=1)
    _, first, own = np.unique(key.view(f"V{key.shape[1]}").ravel(), return_index=True, return_inverse=True)
    return first, own


@dataclass(frozen=True, slots=True)
class AlternateStack:
    """Alternates of places and what is held against them, arrays [gate, place, k] padded with -1: see `Alternates`.

    `as_alternate`, `landing` [gate, place, cell]: thresholds as in `GateThresholds`, of places alone; `both` [gate]:
    see `GateRisks`. `sd` [lead, day]: what a forecast so many hours ahead, of an hour of that day, may be off.
    """

    place: Ints
    hours: Ints
    gal: Floats
    as_alternate: Floats32
    landing: Floats32
    both: Floats
    sd: Floats

    @classmethod
    def of(cls, gates: Sequence[GatePlan], climate: SurfaceClimate) -> AlternateStack:
        """Return those of gates."""
        places = len(gates[0].alternates.place)
        place, hours, gal = (np.stack([getattr(g.alternates, name) for g in gates])
                             for name in ("place", "hours", "gal"))
        as_alternate, landing = (np.stack([getattr(g.thresholds, name)[:places].reshape(places, -1) for g in gates])
                                 for name in ("as_alternate", "landing"))
        known_before_h = max(int((g.hours.arrival_i - g.hours.departure_i).max(initial=0)) for g in gates) + 1
        lead, midnight = np.arange(known_before_h + int(hours.max(initial=0)) + 1), 24 * np.arange(DAYS)
        return cls(place, hours, gal, as_alternate, landing, np.array([g.risks.both for g in gates]),
                   climate.latent_plan.sd(midnight, midnight - lead[:, None]))

    def at(self, gate: Ints, place: Ints, k: Ints) -> Ints:
        """Return the flat places of alternates, the how many-eth ones of places, [n]."""
        return (gate * self.place.shape[1] + place) * self.place.shape[2] + k

    def threshold(self, gate: Ints, place: Ints, cell: Ints) -> Ints:
        """Return the flat places of thresholds, [n]."""
        return (gate * self.landing.shape[1] + place) * self.landing.shape[2] + cell

    def forecast_sd(self, hour: Ints, issued: Ints) -> Floats:
        """Return what forecasts issued at hours may be off, [n]; looked up, as few leads and days are asked for."""
        return self.sd.take((hour - issued) * self.sd.shape[1] + hour // 24)


@dataclass(frozen=True, slots=True)
class GateStack:
    """Gates of several candidates, arrays [gate, hour] unless said otherwise; names as in the parts of `GatePlan`.

    Per hour: `from_place`, `to_place`, `departure_i`, `departure_at`: all candidates leave in the same ones.
    `arrival_at`: where the air of the hour stands among the hours asked for, and so does `departure_at`.
    `takeoff_ft` [gate], `landing_ft` [gate, place]: lowest ceiling accepted. `poor`: forecast mean under which an
    alternate is required. `forecast`, `long_arrival`, `long_departure` [gate, leg]: rows among the forecasts drawn;
    `long_limits`: of the latter two. `ways`: looks along ways flown visually, None where no gate has any.
    """

    gates: tuple[GatePlan, ...]
    from_place: Ints
    to_place: Ints
    departure_i: Ints
    departure_at: Ints
    arrival_i: Ints
    arrival_at: Ints
    takeoff: Array
    landing: Array
    poor: Array
    blocked: Array
    forecast: Ints
    sd: Array
    takeoff_ft: Floats
    landing_ft: Floats
    long_arrival: Ints
    long_departure: Ints
    long_limits: tuple[Array, Array]
    alternates: AlternateStack
    ways: RouteStack | None

    @classmethod
    def of(cls, gates: Sequence[GatePlan], schedule: Schedule, asked: Ints32, climate: SurfaceClimate) -> GateStack:
        """Return gates stacked; one that stands there twice is taken once.

        Parameters
        ----------
        gates : sequence of GatePlan
        schedule : Schedule
        asked : int array              Where each hour of airports that keep their year stands among those asked for.
        climate : SurfaceClimate
        """
        gates = tuple({id(gate): gate for gate in gates}.values())
        hours = schedule.looks.hours

        def stacked(part: Callable[[GatePlan], Array]) -> Array:
            return np.stack([hours.of_columns(part(gate)).ravel() for gate in gates])

        def limits(part: Callable[[GatePlan], Array]) -> Array:
            return np.stack([np.where(gate.open_.reshape(-1).take(hours.column), hours.of_columns(part(gate)),
                                      np.asarray(-np.inf, dtype=part(gate).dtype)).ravel() for gate in gates])

        leg = np.tile(hours.leg, len(hours.column))
        poor = limits(lambda g: np.where(g.limits.no_approach, np.asarray(np.inf, g.limits.poor.dtype), g.limits.poor))
        poor[[not gate.instrument for gate in gates]] = -np.inf
        ahead = [gate.ahead for gate in gates]
        departure_i, departure_at = (hours.of_columns(values).ravel() for values in (
            gates[0].hours.departure_i, gates[0].hours.departure_at))
        return cls(
            gates, schedule.from_place[leg], schedule.to_place[leg], departure_i, _rows(asked, departure_at),
            stacked(lambda g: g.hours.arrival_i), _rows(asked, stacked(lambda g: g.hours.arrival_at)),
            limits(lambda g: g.limits.takeoff), limits(lambda g: g.limits.landing), poor,
            limits(lambda g: g.limits.blocked), np.maximum(stacked(lambda g: g.ahead.arrival.forecast.row), 0),
            stacked(lambda g: g.ahead.arrival.sd), np.array([g.takeoff.ceiling_ft for g in gates]),
            np.stack([g.landing.ceiling_ft for g in gates]),
            np.stack([one.long_arrival.forecast.row for one in ahead]),
            np.stack([one.long_departure.forecast.row for one in ahead]),
            (np.stack([g.limits.long_arrival for g in gates]), np.stack([g.limits.long_departure for g in gates])),
            AlternateStack.of(gates, climate), _ways(gates, schedule))

    def number(self, gates: GatePlan) -> int | None:
        """Return which of the gates some are, None where they are none of them."""
        return next((i for i, own in enumerate(self.gates) if own is gates), None)


def _rows(asked: Ints32, at: Ints) -> Ints:
    """Return rows among the hours asked for; any for hours that nobody asks for."""
    return np.maximum(asked.take(at), 0).astype(np.int64)


def _ways(gates: Sequence[GatePlan], schedule: Schedule) -> RouteStack | None:
    """Return the looks along ways of all gates that have any."""
    some = [(number, gate.route_looks) for number, gate in enumerate(gates) if gate.route_looks is not None]
    if not some:
        return None
    hours = schedule.looks.hours
    at = np.concatenate([number * hours.column.size + hours.place(looks.leg, looks.slot) for number, looks in some])
    return RouteStack.of([looks for _, looks in some], at, gates[0].risks.route_correlation)
