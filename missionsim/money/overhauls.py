"""When engine and propeller overhauls fall due over the years of an ownership, and what they cost."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.arrays import Array, Bools, Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.base.normal import skewed_quantile
from missionsim.money.cost_profile import CostProfile
from missionsim.money.engine_life import EngineLife, counted_h, engine_life, stretched, wear_factor
from missionsim.money.prices import event_range


@dataclass(frozen=True, slots=True)
class OwnershipDraws:
    """Uniform draws and drawn states, by replication; nothing is drawn in here.

    Attributes
    ----------
    engine_life : (r, k) array          One for each engine, the one it is bought with first; k overhauls at most.
    engine_cost : (r, k) array          Price of each overhaul.
    propeller_cost : (r,) array
    hours_since_overhaul_h : (r,) array
    years_since_overhaul : (r,) array
    propeller_hours_h, propeller_years : (r,) arrays
    first_annual : (r,) array           How bad the first annual is.
    catch_up_usd : (r,) array           Work due at purchase.
    overhaul_kind : (r,) array of str   Who overhauled the engine it is bought with; None: as the candidate says.
    was_idle : (r,) bool array          It was flown so little that its engine may have corroded; None: not known to.
    value_lost_share : (r,) array       Of the price on sale, beyond what the price supposes; None: nothing.
    tbo_h : (r,) array                  Published hours, where nobody said them; None: the candidate's.
    price_share : (r,) array            Asking price and value over the likely ones, where nobody said; None: those.
    second_life, second_cost, second_hours_h   Of the second engine of a twin; None: as of the first.
    calendar_years : (r, k) array       Age from which each engine wears faster; None: the usual calendar limit.
    turbo_life_h : (r,) array           Between overhauls of turbocharger and exhaust; None: the usual.
    propeller_life_years : (r,) array   Age at which corrosion takes a propeller to its overhaul; None: the usual.
    second_calendar_years, second_turbo_life_h   Of the second engine of a twin; None: as of the first.
    more_h : (r,) array                 Hours on each engine beyond those above; None: none. The same engine a little
                                        further worn: what was due before the first of them is not taken as done.
    """

    engine_life: Floats
    engine_cost: Floats
    propeller_cost: Floats
    hours_since_overhaul_h: Floats
    years_since_overhaul: Floats
    propeller_hours_h: Floats
    propeller_years: Floats
    first_annual: Floats
    catch_up_usd: Floats
    overhaul_kind: NDArray[np.object_] | None = None
    was_idle: Bools | None = None
    value_lost_share: Floats | None = None
    tbo_h: Floats | None = None
    price_share: Floats | None = None
    second_life: Floats | None = None
    second_cost: Floats | None = None
    second_hours_h: Floats | None = None
    calendar_years: Floats | None = None
    turbo_life_h: Floats | None = None
    propeller_life_years: Floats | None = None
    second_calendar_years: Floats | None = None
    second_turbo_life_h: Floats | None = None
    more_h: Floats | None = None

    @property
    def engine_h(self) -> Floats:
        """Hours since overhaul of the first engine as it is bought, (r,). [h]"""
        return self.hours_since_overhaul_h if self.more_h is None else self.hours_since_overhaul_h + self.more_h

    @property
    def mean_engine_h(self) -> Floats:
        """Hours since overhaul, the mean of both engines where there are two, (r,). [h]"""
        return np.asarray(np.mean([one.engine_h for one in self._engines], axis=0))

    def kept_h(self, flown_h: Floats, years: float, assumptions: Assumptions) -> Floats:
        """Return the hours a buyer would count after years in which so many were flown and nothing overhauled. [h]

        The mean of both engines where there are two.
        """
        return np.asarray(np.mean([counted_h(one.engine_h + flown_h, one.years_since_overhaul + years, assumptions)
                                   for one in self._engines], axis=0))

    @property
    def _engines(self) -> list[OwnershipDraws]:
        return self.each(1 if self.second_hours_h is None else 2)

    def each(self, engines: int) -> list[OwnershipDraws]:
        """Return the draws of each engine; one that has none of its own shares those of the first."""
        if engines == 1:
            return [self]
        own: dict[str, Any] = {"engine_life": self.second_life, "engine_cost": self.second_cost,
               "hours_since_overhaul_h": self.second_hours_h, "calendar_years": self.second_calendar_years,
               "turbo_life_h": self.second_turbo_life_h}
        return [self, replace(self, **{name: value for name, value in own.items() if value is not None})]


def middle_draws(candidate: CostProfile, replications: int, overhauls: int = 3) -> OwnershipDraws:
    """Return draws at the middle of everything and the candidate's own state: an ownership without chance."""
    half, ones = np.full((replications, overhauls), 0.5), np.ones(replications)
    return OwnershipDraws(half, half, 0.5 * ones, candidate.hours_since_overhaul_h * ones,
                          candidate.years_since_overhaul * ones, candidate.propeller_hours_h * ones,
                          candidate.propeller_years * ones, 0.5 * ones,
                          candidate.catch_up_usd * ones)


def uniform_draws(candidate: CostProfile, uniforms: Floats) -> OwnershipDraws:
    """Return draws from a (replications, 2k + 2) array of uniforms and the candidate's own state."""
    if uniforms.shape[1] < 4 or uniforms.shape[1] % 2:
        msg = f"money.overhauls: {uniforms.shape[1]} uniforms a replication; accepted: an even number from 4"
        raise ValidityError(msg)
    k = uniforms.shape[1] // 2 - 1
    state = middle_draws(candidate, len(uniforms), k)
    return replace(state, engine_life=uniforms[:, :k], engine_cost=uniforms[:, k:2 * k],
                   propeller_cost=uniforms[:, -2], first_annual=uniforms[:, -1])


@dataclass(frozen=True, slots=True)
class Overhauls:
    """Overhauls by replication and year, and the state at the end.

    Attributes
    ----------
    engine_usd, propeller_usd, turbo_usd : (r, y) arrays    Paid in the year.
    early : (r, y) bool array                    An engine overhaul before the published hours.
    engine_hours_h : (r,) array                  Since overhaul, at the end.
    counted_h : (r,) array                       What a buyer counts for them and for their age.
    last_usd : (r,) array                        Price of the last engine overhaul; 0 for none.
    """

    engine_usd: Floats
    propeller_usd: Floats
    turbo_usd: Floats
    early: Bools
    engine_hours_h: Floats
    counted_h: Floats
    last_usd: Floats

    def at_price(self, factor: float) -> Overhauls:
        """Return them with engine overhauls at a multiple of their price."""
        return replace(self, engine_usd=self.engine_usd * factor, last_usd=self.last_usd * factor)


def overhauls(candidate: CostProfile, flight_hours: Floats, draws: OwnershipDraws, assumptions: Assumptions, *,
              at_tbo: bool = False, limits_bind: bool = False) -> Overhauls:
    """Return engine and propeller overhauls.

    An overhaul falls due by condition, never by date alone; with `at_tbo` at the published hours at the latest; with
    `limits_bind`, as for hire, at the calendar limit too. It is paid in the year it falls due, at most one a year, and
    the hours beyond that moment count on the new engine.

    Parameters
    ----------
    candidate : CostProfile
    flight_hours : (r, y) array     Flown by replication and year.
    draws : OwnershipDraws
    """
    engines = engines_of(candidate, draws, assumptions, at_tbo=at_tbo or limits_bind, limits_bind=limits_bind)
    engine_usd, turbo_usd = np.zeros(flight_hours.shape), np.zeros(flight_hours.shape)
    early = np.zeros(flight_hours.shape, dtype=np.bool_)
    for engine in engines:
        usd = np.zeros(flight_hours.shape)
        for y in range(flight_hours.shape[1]):
            usd[:, y], soon = engine.fly(flight_hours[:, y], y)
            early[:, y] |= soon
        engine_usd += usd
        turbo_usd += _turbo(engine.candidate, flight_hours, engine.draws, usd > 0.0, assumptions)
    used_h = np.stack([engine.used_h for engine in engines]).mean(axis=0)
    counted = np.stack([counted_h(engine.used_h, engine.age, assumptions) for engine in engines]).mean(axis=0)
    propeller_usd = _propeller(candidate, flight_hours, draws, assumptions, limits_bind=limits_bind)
    return Overhauls(engine_usd, propeller_usd, turbo_usd, early, used_h, counted,
                     np.sum([engine.last_usd for engine in engines], axis=0))


def engines_of(candidate: CostProfile, draws: OwnershipDraws, assumptions: Assumptions, *, at_tbo: bool,
               limits_bind: bool) -> list[Engines]:
    """Return the engines of an aircraft, each with its own hours and luck.

    Parameters
    ----------
    candidate : CostProfile   What its costs depend on.
    draws : OwnershipDraws    Luck and state of the engines.
    assumptions : Assumptions
    at_tbo : bool             Overhauled at the published hours, else by condition.
    limits_bind : bool        Published hours and calendar bind.
    """
    one = candidate if candidate.engines == 1 else replace(candidate, engines=1)
    return [Engines(one, own, assumptions, at_tbo=at_tbo, limits_bind=limits_bind)
            for own in draws.each(candidate.engines)]


class Engines:
    """State of the engines of all replications, moved on a year at a time.

    Wear counts in hours as an engine flown often would feel them: `used_h` are hours on the clock, `worn_h` what
    idleness or age adds to them, and condition is judged by their sum, published hours by the clock alone.
    """

    def __init__(self, candidate: CostProfile, draws: OwnershipDraws, assumptions: Assumptions, *, at_tbo: bool,
                 limits_bind: bool) -> None:
        self.candidate, self.draws, self.assumptions = candidate, draws, assumptions
        self.tbo_h = candidate.tbo_h if draws.tbo_h is None else draws.tbo_h
        self.limit_h = self.tbo_h if at_tbo else np.inf
        self.limit_years = assumptions["engine_life.calendar_years"] if limits_bind else np.inf
        self.used_h, self.age = draws.engine_h.copy(), draws.years_since_overhaul.copy()
        self.row = np.arange(len(self.used_h))
        self.worn_h, self.last_usd = np.zeros(len(self.row)), np.zeros(len(self.row))
        self.count = np.zeros(len(self.row), dtype=np.int64)
        self.later = engine_life(candidate.engine, assumptions, candidate.tbo_h)
        self.due_h = self._first_due_h()

    def _first_due_h(self) -> Floats:
        """Return the hours at which the engines bought are due; one that stood idle wears out at a higher hazard."""
        candidate, draws, a = self.candidate, self.draws, self.assumptions
        kinds = np.full(len(self.row), candidate.overhaul_kind, dtype=object) if draws.overhaul_kind is None \
            else draws.overhaul_kind
        u = draws.engine_life[:, 0]
        if draws.was_idle is not None:
            u = np.where(draws.was_idle, _hastened(u, a["engine_life.idle_factor"]), u)
        if candidate.monitored:
            u = _hastened(u, a["keeping.monitor_hazard_factor"])
        due_h = np.zeros(len(self.row))
        for kind in sorted(set(kinds.tolist())):
            mine = kinds == kind
            life = engine_life(candidate.engine, a, candidate.tbo_h, kind)
            due_h[mine] = self._due(life, u[mine], self.used_h[mine], mine)
        return due_h

    def _due(self, life: EngineLife, u: Floats, already_h: Floats | float, rows: Array) -> Floats:
        """Return when overhauls fall due; engines with other published hours live in hours so much longer."""
        if self.draws.tbo_h is None:
            return life.overhaul_hours_h(u, already_h)
        share = (self.draws.tbo_h / self.candidate.tbo_h)[rows]
        early = life.hours_h[1]
        return stretched(life.overhaul_hours_h(u, stretched(already_h, early, 1.0 / share)), early, share)

    def left_h(self, flown_h: Floats) -> Floats:
        """Return the hours left to the next overhaul at the start of a year in which so many are flown."""
        return self._left_h(self._wear(flown_h))

    def _left_h(self, wear: Floats) -> Floats:
        return np.minimum((self.due_h - self.used_h - self.worn_h) / wear, self.limit_h - self.used_h)

    def _wear(self, flown_h: Floats) -> Floats:
        sound = self.draws.calendar_years
        if sound is not None:
            sound = sound[self.row, np.minimum(self.count, sound.shape[1] - 1)]
        return wear_factor(flown_h, self.age, self.assumptions, sound)

    def fly(self, flown_h: Floats, year: int) -> tuple[Floats, Bools]:
        """Fly a year; return what overhauls cost and which came before the published hours."""
        wear = self._wear(flown_h)
        left_h = self._left_h(wear)
        reached = (left_h <= flown_h) | (self.age + 1.0 > self.limit_years)
        until_h = np.clip(left_h, 0.0, flown_h)
        early = reached & (self.used_h + until_h < self.tbo_h)
        self.worn_h = np.where(reached, 0.0, self.worn_h + flown_h * (wear - 1.0))
        self.used_h = np.where(reached, flown_h - until_h, self.used_h + flown_h)
        self.age = np.where(reached, 0.5, self.age + 1.0)
        return self._renewed(np.flatnonzero(reached), year), early

    def _renewed(self, rows: Ints, year: int) -> Floats:
        """Overhaul the engines of some rows; return what it costs. Few are due in a year: only those are priced."""
        paid = np.zeros(len(self.row))
        if len(rows):
            draws, count = self.draws, self.count[rows]
            uniform = draws.engine_cost[rows, np.minimum(count, draws.engine_cost.shape[1] - 1)]
            paid[rows] = _price(self.candidate, uniform, year, self.assumptions)
            self.last_usd[rows], self.count[rows] = paid[rows], count + 1
            next_life = draws.engine_life[rows, np.minimum(count + 1, draws.engine_life.shape[1] - 1)]
            self.due_h[rows] = self._due(self.later, next_life, 0.0, rows)
        return paid


def _hastened(uniform: Floats, factor: float) -> Floats:
    """Return the uniform that an engine with this factor on its hazard behaves by: small is early."""
    return np.asarray(-np.expm1(np.log1p(-np.minimum(uniform, 1.0 - 1e-9)) / factor))


def _price(candidate: CostProfile, uniform: Floats, year: int, assumptions: Assumptions) -> Floats:
    """One draw serves both: its top share is an unserviceable case or crankshaft, on top of a dear overhaul.

    A quoted price is paid as quoted.
    """
    drift = (1.0 + assumptions["ownership.overhaul_drift_share"]) ** (year + 1)
    if candidate.overhaul_usd is not None:
        return np.full(np.shape(uniform), candidate.engines * candidate.overhaul_usd * drift)
    usd = skewed_quantile(uniform, *event_range(assumptions, "engine_life.overhaul_usd", candidate.engine))
    extra = (uniform > 1.0 - assumptions["engine_life.extra_share"]) * assumptions["engine_life.extra_usd"]
    return np.asarray(candidate.engines * (usd + extra) * drift)


def propeller_due(hours_h: ArrayLike, years: ArrayLike, flown_h: ArrayLike, life_years: ArrayLike,
                  assumptions: Assumptions) -> Bools:
    """Tell whether a propeller is overhauled in a year: by its hours, or for corrosion when it is flown at all.

    Parameters
    ----------
    hours_h, years : float or array   Since its overhaul, at the year's end.
    flown_h : float or array          In the year; one that stands still is not sent in.
    life_years : float or array       Age at which corrosion, or the calendar for hire, takes it.
    assumptions : Assumptions         Group `engine_life`.
    """
    aged = (np.asarray(years) >= life_years) & (np.asarray(flown_h) > 0.0)
    return np.asarray((np.asarray(hours_h) >= assumptions["engine_life.propeller_life_h"]) | aged)


def propeller_life_years(draws: OwnershipDraws, assumptions: Assumptions, *, limits_bind: bool) -> Floats | float:
    """Return the age at which propellers are overhauled: drawn for a private one, by the calendar for hire.

    Parameters
    ----------
    draws : OwnershipDraws
    assumptions : Assumptions         Group `engine_life`.
    limits_bind : bool                As for hire.
    """
    private = assumptions["engine_life.propeller_years"] if draws.propeller_life_years is None \
        else draws.propeller_life_years
    return np.minimum(private, assumptions["engine_life.propeller_hire_years"]) if limits_bind else private


def _propeller(candidate: CostProfile, flight_hours: Floats, draws: OwnershipDraws, assumptions: Assumptions, *,
               limits_bind: bool) -> Floats:
    low, likely, high = event_range(assumptions, "engine_life.propeller_usd", candidate.propeller)
    governor = 0.0 if candidate.propeller == "fixed" else assumptions["engine_life.governor_usd"]
    limit = propeller_life_years(draws, assumptions, limits_bind=limits_bind)
    used, age, paid = draws.propeller_hours_h.copy(), draws.propeller_years.copy(), np.zeros(flight_hours.shape)
    for y in range(flight_hours.shape[1]):
        used, age = used + flight_hours[:, y], age + 1.0
        due = propeller_due(used, age, flight_hours[:, y], limit, assumptions)
        if due.any():
            usd = candidate.engines * (skewed_quantile(draws.propeller_cost[due], low, likely, high) + governor)
            paid[due, y] = usd * (1.0 + assumptions["ownership.overhaul_drift_share"]) ** (y + 1)
        used, age = np.where(due, 0.0, used), np.where(due, 0.0, age)
    return paid


def _turbo(candidate: CostProfile, flight_hours: Floats, draws: OwnershipDraws, renewed: Bools,
           assumptions: Assumptions) -> Floats:
    """Return what turbocharger and exhaust cost by year: every so many hours, anew with each engine overhaul.

    Between two engine overhauls they are taken to have been renewed by their hours; the price is the likely one.
    """
    paid = np.zeros(flight_hours.shape)
    if candidate.engine != "turbo":
        return paid
    life = assumptions["engine_life.turbo_life_h"] if draws.turbo_life_h is None else draws.turbo_life_h
    usd = candidate.engines * assumptions["engine_life.turbo_overhaul_usd"]
    used = draws.hours_since_overhaul_h % life + (0.0 if draws.more_h is None else draws.more_h)
    for y in range(flight_hours.shape[1]):
        used = np.where(renewed[:, y], 0.5 * flight_hours[:, y], used + flight_hours[:, y])
        paid[:, y] = np.floor(used / life) * usd * (1.0 + assumptions["ownership.overhaul_drift_share"]) ** (y + 1)
        used = used % life
    return paid
