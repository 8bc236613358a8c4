"""Why flights judged exactly do not go: every reason with the margin by which it fails, in its unit and in words.

What the aircraft and the fields decide is told here, for a single leg and for the trips of a year alike; what the sky
and the calendar decide is told where a year is known (`study.explain`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from missionsim.aircraft.loading import arrange, envelope_points, zero_fuel_margin_lb
from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions
from missionsim.base.words import BIT, EXPLAINED, Reason
from missionsim.decide.candidate_plan import CandidatePlan, Loads
from missionsim.physics.atmosphere import cabin_altitude_ft
from missionsim.study.prepare.network import Places
from missionsim.study.replicate.exact_plans import ExactRows, FieldCheck, gradient_counts
from missionsim.world.airports.table import Airport

TO_FILL = "too heavy to fill the tanks"
"""Whose weight keeps fuel out, on a way that wants more than they hold: lighter, it may go with a fuel stop."""
NOR_TANKS = "nor would larger tanks help"
"""Where the load leaves no room for what they hold as it is."""
POINTS = ("at take-off", "on landing", "without fuel")


@dataclass(frozen=True, slots=True)
class Why:
    """One reason. `margin` is by how much it fails, in `unit`; None where there is nothing to measure.

    Where the words tell the two numbers it lies between, it is the difference of those as they are told.
    """

    reason: Reason
    margin: float | None
    unit: str
    words: str

    @property
    def text(self) -> str:
        """The reason and its words in one line."""
        return f"{self.reason.replace('_', ' ')}: {self.words}"


@dataclass(frozen=True, slots=True)
class JudgedFlights:
    """Flights of one candidate judged exactly, with all that their reasons are told from.

    `found`: the flights; methods take the entry k of one. `people_lb` [trip, person] with 0 for nobody, `bags_lb`
    [trip] and `loads` are those of the trips that rows of the plan name.
    """

    plan: CandidatePlan
    profile: Profile
    places: Places
    assumptions: Assumptions
    found: ExactRows
    people_lb: Array
    bags_lb: Array
    loads: Loads

    def reasons(self, k: int) -> Iterator[Why]:
        """Return every reason in the way of a flight, in the fixed order of reasons."""
        for reason, finder in _FINDERS.items():
            if int(self.found.bits[k]) & BIT[reason]:
                yield from list(finder(self, k)) or [Why(reason, None, "", EXPLAINED[reason])]

    def why(self, k: int, reason: Reason) -> tuple[Why, ...]:
        """Return what there is to say of one reason against a flight; nothing where the exact plan sees none."""
        finder = _FINDERS.get(reason)
        return tuple(finder(self, k)) if finder else ()

    def marginal(self, k: int) -> Iterator[str]:
        """Return in words which of the pilot's own rules a flight meets within their tolerance only."""
        mask = int(self.found.marginal[k])
        if mask & BIT[Reason.CLIMB]:
            exact, row = self.found.exact, self.found.row[k]
            level = int(exact.plans.level[k, 0])
            rate_fpm = float(exact.table.coefficient["climb_rate_fpm"][0][k, level])
            least_fpm = float(self.plan.level_limits.least_climb_fpm[row])
            gap = Gap.between(rate_fpm, least_fpm)
            yield f"climbs {gap.less} of {gap.more} ft/min at {float(exact.plans.level_ft[k, 0]):,.0f} ft"
        for check, place, what in self.ends(k):
            if int(check.marginal[k]) & BIT[Reason.RUNWAY]:
                gap = Gap.between(float(check.available_ft[k]), float(check.required_ft[k]))
                yield f"{what} at {place.ident} needs {gap.more} ft with the whole margin, has {gap.less}"
            if int(check.marginal[k]) & BIT[Reason.WIND]:
                yield (f"{max(-float(check.headwind_kt[k]), 0.0):.1f} kt of tail wind for {what} at {place.ident}, "
                       f"{self.plan.pilot.rules.max_tailwind_kt:g} accepted")

    def trip(self, k: int) -> int:
        """Return the row of the flight's load."""
        return int(self.plan.rows.trip[self.found.row[k]])

    def airports(self, k: int) -> tuple[Airport, Airport]:
        """Return the airports a flight leaves and reaches."""
        row, rows, airports = self.found.row[k], self.plan.rows, self.places.airports
        return airports[int(rows.from_place[row])], airports[int(rows.to_place[row])]

    def ends(self, k: int) -> Iterator[tuple[FieldCheck, Airport, str]]:
        """Return the fields of a flight: how it fares there, which it is, and what happens there."""
        here, there = self.airports(k)
        yield self.found.takeoff, here, "take-off"
        yield self.found.landing, there, "landing"

    def most_bags_lb(self, k: int) -> float:
        """Return the most bags, to the pound, that find a place with the people of a flight on board. [lb]"""
        trip = self.trip(k)
        bags_lb = float(self.bags_lb[trip])
        tries = np.append(np.arange(0.0, math.ceil(bags_lb)), bags_lb)
        people = np.repeat(self.people_lb[trip][None, :], len(tries), axis=0)
        fits = arrange(self.profile, people, tries, self.assumptions).bags_ok
        return float(tries[fits].max(initial=0.0))


@dataclass(frozen=True, slots=True)
class Gap:
    """Two numbers and their difference as one sentence tells them: a reader's own subtraction is right.

    `less` and `more` are written with as many decimals as tell the two apart, `margin` is the difference of what is
    written, and `shown` that in words.
    """

    less: str
    more: str
    margin: float
    shown: str

    @classmethod
    def between(cls, less: float, more: float) -> Gap:
        """Return what lies between what there is and what is needed, in their unit."""
        digits = _digits(less, more)
        margin = round(round(more, digits) - round(less, digits), digits)
        return cls(_written(less, digits), _written(more, digits), margin, _written(margin, digits))


def beside(value: float, limit: float) -> str:
    """Return a number that is told beside the limit it misses, with as many decimals as tell the two apart."""
    return _written(value, _digits(value, limit))


def _digits(one: float, other: float) -> int:
    return next((d for d in (0, 1, 2) if round(one, d) != round(other, d)), 3)


def _written(value: float, digits: int) -> str:
    return f"{round(value, digits) + 0.0:,.{digits}f}".replace("-", "−")


def _why(reason: Reason, margin: float, unit: str, words: str, digits: int = 0) -> Why:
    shown = f"{margin:,.{digits}f}" if digits else f"{math.ceil(margin - 1e-9):,}"
    return Why(reason, margin, unit, f"{shown} {unit} {words}")


def _seats(judged: JudgedFlights, k: int) -> Iterator[Why]:
    seats = sum(station.seats for station in judged.profile.stations)
    people = int(judged.plan.rows.people[judged.found.row[k]])
    who = "person" if people - seats == 1 else "people"
    text = f"{people - seats} {who} too many ({people} for {seats} seats)"
    yield Why(Reason.SEATS, float(people - seats), "people", text)


def _payload(judged: JudgedFlights, k: int) -> Iterator[Why]:
    found, profile, plan, trip = judged.found, judged.profile, judged.plan, judged.trip(k)
    dry_lb = float(judged.loads.zero_fuel_lb[trip])
    over_gal = float(found.exact.required_gal[k] - found.allowed_gal[k]) - plan.fuel.taxi_gal
    start_over = over_gal * plan.fuel.lb_per_gal if found.allowed_gal[k] < plan.fuel.usable_gal else 0.0
    if start_over > 0.0 and found.exact.required_gal[k] > plan.fuel.usable_gal:
        # What the tanks do not hold, no load makes room for.
        start_over = (plan.fuel.usable_gal - plan.fuel.taxi_gal - float(found.allowed_gal[k])) * plan.fuel.lb_per_gal
        if start_over > 0.0:
            yield _why(Reason.PAYLOAD, start_over, "lb", f"{TO_FILL}: the load leaves room for "
                       f"{found.allowed_gal[k]:,.1f} of {plan.fuel.usable_gal:,.0f} gal")
    elif start_over > 0.0:
        yield _why(Reason.PAYLOAD, start_over, "lb", f"over the take-off limit of "
                   f"{profile.max_takeoff_lb:,.0f} lb with the fuel required")
    landing_over = float(found.exact.landing_lb[k]) - profile.max_landing_lb
    if landing_over > max(start_over, 0.0):
        yield _why(Reason.PAYLOAD, landing_over, "lb", f"over the landing limit of {profile.max_landing_lb:,.0f} lb")
    dry_over = -float(zero_fuel_margin_lb(profile, dry_lb))
    if dry_over > 0.0 and profile.weights.max_zero_fuel_lb is not None:
        yield _why(Reason.PAYLOAD, dry_over, "lb", f"over the zero-fuel limit of "
                   f"{profile.weights.max_zero_fuel_lb:,.0f} lb")
    most_lb, bags_lb = judged.most_bags_lb(k), float(judged.bags_lb[trip])
    if bags_lb > most_lb + 1e-6:
        yield _why(Reason.PAYLOAD, bags_lb - most_lb, "lb", "of bags over what seats and bag places hold")


def _balance(judged: JudgedFlights, k: int) -> Iterator[Why]:
    balance = judged.found.balance
    for point in range(3):
        margin, cg_in = float(balance.margin_in[point, k]), float(balance.cg_in[point, k])
        if margin < 0.0:
            low, high = cg_limits_in(judged.profile, float(balance.weight_lb[point, k]))
            side = "forward" if abs(cg_in - low) < abs(cg_in - high) else "aft"
            yield _why(Reason.BALANCE, -margin, "in", f"{side} of the limit {POINTS[point]}", 1)


def cg_limits_in(profile: Profile, weight_lb: float) -> tuple[float, float]:
    """Return the fore and aft limit of the envelope at a weight, or at its top or bottom beyond. [in]"""
    corners = envelope_points(profile)
    level = float(np.clip(weight_lb, corners[:, 1].min() + 1e-7, corners[:, 1].max() - 1e-7))
    x, y = corners[:, 0], corners[:, 1]
    met = [float(x[i - 1] + (level - y[i - 1]) * (x[i] - x[i - 1]) / (y[i] - y[i - 1]))
           for i in range(len(x)) if (y[i - 1] > level) != (y[i] > level)]
    return min(met), max(met)


def _range(judged: JudgedFlights, k: int) -> Iterator[Why]:
    exact, usable_gal = judged.found.exact, judged.plan.fuel.usable_gal
    short = float(exact.required_gal[k] - usable_gal)
    if short > 0.0:
        room_gal = float(judged.found.allowed_gal[k])
        helps = "no fuel stop helps" if room_gal >= usable_gal - judged.plan.fuel.taxi_gal else (
            f"{NOR_TANKS}: the load leaves room for {room_gal:,.1f} gal, and with that no fuel stop helps")
        yield _why(Reason.RANGE, short, "gal", f"short of what tanks of {usable_gal:,.0f} gal hold, reserve counted; "
                   f"{helps}", 1)
    elif int(exact.plans.reasons[k, 0]) & BIT[Reason.RANGE]:
        yield Why(Reason.RANGE, None, "", "no level leaves room to climb, cruise and descend in this wind")


def _runway(judged: JudgedFlights, k: int) -> Iterator[Why]:
    for check, place, what in judged.ends(k):
        if not int(check.bits[k]) & BIT[Reason.RUNWAY]:
            continue
        need, have = float(check.required_ft[k]), float(check.available_ft[k])
        if math.isfinite(need):
            gap = Gap.between(have, need)
            yield Why(Reason.RUNWAY, gap.margin, "ft", f"{gap.shown} ft short for {what} at {place.ident} "
                      f"(needs {gap.more} with the margin, has {gap.less})")
        else:
            yield Why(Reason.RUNWAY, None, "", f"{what} at {place.ident} is outside the flight manual's table")


def _surface(judged: JudgedFlights, k: int) -> Iterator[Why]:
    accepted = ", ".join(judged.profile.limits.surfaces)
    for check, place, _ in judged.ends(k):
        if int(check.bits[k]) & BIT[Reason.SURFACE]:
            there = ", ".join(dict.fromkeys(end.surface for end in place.ends)) or "no runway known"
            yield Why(Reason.SURFACE, None, "", f"{there} at {place.ident}; this aircraft uses {accepted}")


def _wind(judged: JudgedFlights, k: int) -> Iterator[Why]:
    rules, limit_kt = judged.plan.pilot.rules, judged.plan.runways.crosswind_limit_kt
    for check, place, what in judged.ends(k):
        if not int(check.bits[k]) & BIT[Reason.WIND]:
            continue
        across, behind = float(check.crosswind_kt[k]) - limit_kt, -float(check.headwind_kt[k]) - rules.max_tailwind_kt
        if across > 0.0:
            yield _why(Reason.WIND, across, "kt", f"of crosswind over {limit_kt:.0f} kt for {what} at {place.ident}")
        else:
            yield _why(Reason.WIND, max(behind, 0.0), "kt", f"of tail wind over {rules.max_tailwind_kt:.0f} kt for "
                       f"{what} at {place.ident}")


def _climb(judged: JudgedFlights, k: int) -> Iterator[Why]:
    candidate, rows = judged.plan, judged.found
    gradient = float(rows.gradient_ft_per_nm[k])
    least = candidate.runways.least_gradient_ft_per_nm
    if not gradient >= least and gradient_counts(candidate, rows.row[k:k + 1])[0]:
        here = judged.airports(k)[0].ident
        if math.isfinite(gradient):
            gap = Gap.between(gradient, least)
            yield Why(Reason.CLIMB, gap.margin, "ft/nm", f"{gap.shown} ft/nm short after take-off from {here} "
                      f"(climbs {gap.less} of {gap.more})")
        else:
            yield Why(Reason.CLIMB, None, "", f"take-off from {here} is outside the flight manual's table")
    if int(rows.exact.plans.reasons[k, 0]) & BIT[Reason.CLIMB]:
        yield _climb_at_level(judged, k)


def _climb_at_level(judged: JudgedFlights, k: int) -> Why:
    candidate, row = judged.plan, judged.found.row[k]
    table = judged.found.exact.table
    clear = candidate.level_limits.clears_terrain[row] & table.usable[k]
    if not clear.any():
        return Why(Reason.CLIMB, None, "", "no level that clears the ground is inside the flight manual's table")
    rate = np.where(clear, table.coefficient["climb_rate_fpm"][0][k], -np.inf)
    best = int(np.argmax(rate))
    gap = Gap.between(float(rate[best]), float(candidate.level_limits.least_climb_fpm[row]))
    return Why(Reason.CLIMB, gap.margin, "ft/min", f"{gap.shown} ft/min short at {table.rows.levels_ft[k, best]:,.0f} "
               f"ft, the lowest level that clears the ground (climbs {gap.less} of {gap.more})")


def _terrain(judged: JudgedFlights, k: int) -> Iterator[Why]:
    rows, row = judged.plan.table.rows, judged.found.row[k]
    lowest_ft, highest_ft = float(rows.lowest_ft[row]), float(np.nanmax(rows.levels_ft[row]))
    if math.isfinite(lowest_ft) and lowest_ft > highest_ft:
        gap = Gap.between(highest_ft, lowest_ft)
        yield Why(Reason.TERRAIN, gap.margin, "ft", f"{gap.shown} ft above the highest level of use, {gap.less} ft: "
                  f"the ground asks for {gap.more} ft on every way looked at")


WITH_PASSENGERS = "with passengers and no pressurisation"
"""Whose limit of level it is where oxygen on board changes nothing."""


def _oxygen(judged: JudgedFlights, k: int) -> Iterator[Why]:
    row, plan = judged.found.row[k], judged.plan
    levels_ft, clear = plan.table.rows.levels_ft[row], plan.level_limits.clears_terrain[row]
    cabin_psi = plan.pilot.rules.cabin_differential_psi
    with_people_ft = float(plan.assumptions["flight.passengers_level_ft"])
    sat_ft = with_people_ft if plan.rows.people[row] > 1 else math.inf
    free_ft = min(math.inf if plan.pilot.rules.oxygen else plan.pilot.rules.oxygen_free_ft, sat_ft)
    limit = WITH_PASSENGERS if free_ft == sat_ft else "without oxygen on board"
    lowest_ft = float(np.nanmin(np.where(clear, levels_ft, np.nan)))
    if cabin_psi:
        inside_ft = float(cabin_altitude_ft(lowest_ft, cabin_psi))
        yield _why(Reason.OXYGEN, inside_ft - free_ft, "ft", f"above {free_ft:,.0f} ft in the cabin at "
                   f"{lowest_ft:,.0f} ft, the lowest level that clears the ground")
        return
    gap = Gap.between(free_ft, lowest_ft)
    yield Why(Reason.OXYGEN, gap.margin, "ft", f"{gap.shown} ft above {gap.less} ft, the limit {limit}; "
              f"the lowest level that clears the ground is {gap.more} ft")


def _open_water(judged: JudgedFlights, k: int) -> Iterator[Why]:
    limits, row, table = judged.plan.level_limits, judged.found.row[k], judged.plan.table
    open_ = limits.clears_terrain[row] & limits.oxygen[row] & table.usable[row]
    if limits.beyond_land_nm is not None and open_.any():
        nm = np.where(open_, limits.beyond_land_nm[row], np.inf)
        best = int(np.argmin(nm))
        yield _why(Reason.OPEN_WATER, float(nm[best]) - limits.most_beyond_nm, "nm", f"too far beyond gliding distance "
                   f"of land with one engine: {nm[best]:,.0f} nm of it at {table.rows.levels_ft[row, best]:,.0f} ft, "
                   f"{limits.most_beyond_nm:,.0f} accepted")


_FINDERS: dict[Reason, Callable[[JudgedFlights, int], Iterator[Why]]] = {
    Reason.SEATS: _seats, Reason.PAYLOAD: _payload, Reason.BALANCE: _balance, Reason.RANGE: _range,
    Reason.RUNWAY: _runway, Reason.SURFACE: _surface, Reason.CLIMB: _climb, Reason.TERRAIN: _terrain,
    Reason.OXYGEN: _oxygen, Reason.WIND: _wind, Reason.OPEN_WATER: _open_water}
