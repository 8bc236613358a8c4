"""Why a leg does not go: every reason with the margin by which it fails, in its unit and in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.aircraft.loading import arrange, envelope_points, zero_fuel_margin_lb
from missionsim.base.words import BIT, EXPLAINED, Reason
from missionsim.study.replicate.exact_plans import FieldCheck, gradient_counts
from missionsim.study.single_leg.plan import LegPlan
from missionsim.world.airports.table import Airport

Array = NDArray[Any]
POINTS = ("at take-off", "on landing", "without fuel")


@dataclass(frozen=True, slots=True)
class Why:
    """One reason. `margin` is by how much it fails, in `unit`; None where there is nothing to measure."""

    reason: Reason
    margin: float | None
    unit: str
    text: str


def reasons_of_leg(plan: LegPlan) -> tuple[Why, ...]:
    """Return every reason that stops a leg, in the fixed order of reasons, each said once."""
    finders: dict[Reason, Callable[[LegPlan, int], Iterator[Why]]] = {
        Reason.SEATS: _seats, Reason.PAYLOAD: _payload, Reason.BALANCE: _balance, Reason.RANGE: _range,
        Reason.RUNWAY: _runway, Reason.SURFACE: _surface, Reason.CLIMB: _climb, Reason.TERRAIN: _terrain,
        Reason.OXYGEN: _oxygen, Reason.WIND: _wind}
    found: dict[str, Why] = {}
    for reason, finder in finders.items():
        for k in plan.order:
            if int(plan.rows.bits[k]) & BIT[reason]:
                said = list(finder(plan, k)) or [Why(reason, None, "", f"{reason}: {EXPLAINED[reason]}")]
                found |= {why.text: why for why in said}
    if plan.dark_h is not None:
        text = f"daylight: {plan.dark_h:.1f} h into the night at one end, and the pilot does not fly by night"
        found[text] = Why(Reason.DAYLIGHT, plan.dark_h, "h", text)
    return tuple(found.values())


def _why(reason: Reason, margin: float, unit: str, words: str, digits: int = 0) -> Why:
    shown = f"{margin:,.{digits}f}" if digits else f"{math.ceil(margin - 1e-9):,}"
    return Why(reason, margin, unit, f"{reason}: {shown} {unit} {words}")


def _seats(plan: LegPlan, k: int) -> Iterator[Why]:
    seats = sum(station.seats for station in plan.setting.profile.stations)
    people = plan.people_lb.shape[1]
    who = "person" if people - seats == 1 else "people"
    text = f"seats: {people - seats} {who} too many ({people} for {seats} seats)"
    yield Why(Reason.SEATS, float(people - seats), "people", text)


def _payload(plan: LegPlan, k: int) -> Iterator[Why]:
    rows, profile = plan.rows, plan.setting.profile
    dry_lb = float(plan.loads.zero_fuel_lb[0])
    lb_per_gal = plan.plan.fuel.lb_per_gal
    over_gal = float(rows.exact.required_gal[k] - rows.allowed_gal[k]) - plan.plan.fuel.taxi_gal
    start_over = over_gal * lb_per_gal if rows.allowed_gal[k] < plan.plan.usable_gal else 0.0
    if start_over > 0.0:
        yield _why(Reason.PAYLOAD, start_over, "lb", f"over the take-off limit of "
                   f"{profile.max_takeoff_lb:,.0f} lb with the fuel required")
    landing_over = float(rows.exact.landing_lb[k]) - profile.max_landing_lb
    if landing_over > max(start_over, 0.0):
        yield _why(Reason.PAYLOAD, landing_over, "lb", f"over the landing limit of {profile.max_landing_lb:,.0f} lb")
    dry_over = -float(zero_fuel_margin_lb(profile, dry_lb))
    if dry_over > 0.0 and profile.weights.max_zero_fuel_lb is not None:
        yield _why(Reason.PAYLOAD, dry_over, "lb", f"over the zero-fuel limit of "
                   f"{profile.weights.max_zero_fuel_lb:,.0f} lb")
    most_lb = most_bags_lb(plan)
    if plan.bags_lb > most_lb + 1e-6:
        yield _why(Reason.PAYLOAD, plan.bags_lb - most_lb, "lb", "of bags over what seats and bag places hold")


def most_bags_lb(plan: LegPlan) -> float:
    """Return the most bags, to the pound, that find a place with these people on board. [lb]"""
    tries = np.append(np.arange(0.0, math.ceil(plan.bags_lb)), plan.bags_lb)
    people = np.repeat(plan.people_lb, len(tries), axis=0)
    fits = arrange(plan.setting.profile, people, tries, plan.setting.assumptions).bags_ok
    return float(tries[fits].max(initial=0.0))


def _balance(plan: LegPlan, k: int) -> Iterator[Why]:
    balance = plan.rows.balance
    for point in range(3):
        margin, cg_in = float(balance.margin_in[point, k]), float(balance.cg_in[point, k])
        if margin < 0.0:
            low, high = cg_limits_in(plan, float(balance.weight_lb[point, k]))
            side = "forward" if abs(cg_in - low) < abs(cg_in - high) else "aft"
            yield _why(Reason.BALANCE, -margin, "in", f"{side} of the limit {POINTS[point]}", 1)


def cg_limits_in(plan: LegPlan, weight_lb: float) -> tuple[float, float]:
    """Return the fore and aft limit of the envelope at a weight, or at its top or bottom beyond. [in]"""
    corners = envelope_points(plan.setting.profile)
    level = float(np.clip(weight_lb, corners[:, 1].min() + 1e-7, corners[:, 1].max() - 1e-7))
    x, y = corners[:, 0], corners[:, 1]
    met = [float(x[i - 1] + (level - y[i - 1]) * (x[i] - x[i - 1]) / (y[i] - y[i - 1]))
           for i in range(len(x)) if (y[i - 1] > level) != (y[i] > level)]
    return min(met), max(met)


def _range(plan: LegPlan, k: int) -> Iterator[Why]:
    short = float(plan.rows.exact.required_gal[k] - plan.plan.usable_gal)
    if short > 0.0:
        yield _why(Reason.RANGE, short, "gal", f"short of what tanks of {plan.plan.usable_gal:,.0f} gal hold, "
                   "reserve counted; no fuel stop helps", 1)
    elif int(plan.rows.exact.plans.reasons[k, 0]) & BIT[Reason.RANGE]:
        yield Why(Reason.RANGE, None, "", "range: no level leaves room to climb, cruise and descend in this wind")


def _runway(plan: LegPlan, k: int) -> Iterator[Why]:
    for check, place, what in _ends(plan, k):
        if not int(check.bits[k]) & BIT[Reason.RUNWAY]:
            continue
        need, have = float(check.required_ft[k]), float(check.available_ft[k])
        if math.isfinite(need):
            yield _why(Reason.RUNWAY, need - have, "ft", f"short for {what} at {place.ident} "
                       f"(needs {need:,.0f} with the margin, has {have:,.0f})")
        else:
            yield Why(Reason.RUNWAY, None, "", f"runway: {what} at {place.ident} is outside the flight manual's table")


def _surface(plan: LegPlan, k: int) -> Iterator[Why]:
    accepted = ", ".join(plan.setting.profile.limits.surfaces)
    for check, place, _ in _ends(plan, k):
        if int(check.bits[k]) & BIT[Reason.SURFACE]:
            there = ", ".join(dict.fromkeys(end.surface for end in place.ends)) or "no runway known"
            yield Why(Reason.SURFACE, None, "", f"surface: {there} at {place.ident}; this aircraft uses {accepted}")


def _wind(plan: LegPlan, k: int) -> Iterator[Why]:
    rules, limit_kt = plan.plan.rules, plan.plan.crosswind_limit_kt
    for check, place, what in _ends(plan, k):
        if not int(check.bits[k]) & BIT[Reason.WIND]:
            continue
        across, behind = float(check.crosswind_kt[k]) - limit_kt, -float(check.headwind_kt[k]) - rules.max_tailwind_kt
        if across > 0.0:
            yield _why(Reason.WIND, across, "kt", f"of crosswind over {limit_kt:.0f} kt for {what} at {place.ident}")
        else:
            yield _why(Reason.WIND, max(behind, 0.0), "kt", f"of tail wind over {rules.max_tailwind_kt:.0f} kt for "
                       f"{what} at {place.ident}")


def _climb(plan: LegPlan, k: int) -> Iterator[Why]:
    candidate, rows = plan.plan, plan.rows
    gradient = float(rows.gradient_ft_per_nm[k])
    least = candidate.least_gradient_ft_per_nm
    if not gradient >= least and gradient_counts(candidate, rows.row[k:k + 1])[0]:
        here = plan.places.airports[int(candidate.rows.from_place[rows.row[k]])].ident
        if math.isfinite(gradient):
            yield _why(Reason.CLIMB, least - gradient, "ft/nm", f"short after take-off from {here} "
                       f"(climbs {max(gradient, 0.0):,.0f} of {least:,.0f})")
        else:
            yield Why(Reason.CLIMB, None, "", f"climb: take-off from {here} is outside the flight manual's table")
    if int(rows.exact.plans.reasons[k, 0]) & BIT[Reason.CLIMB]:
        yield _climb_at_level(plan, k)


def _climb_at_level(plan: LegPlan, k: int) -> Why:
    candidate, row = plan.plan, plan.rows.row[k]
    table = plan.rows.exact.table
    clear = candidate.level_limits.clears_terrain[row] & table.usable[k]
    if not clear.any():
        return Why(Reason.CLIMB, None, "", "climb: no level that clears the ground is inside the flight manual's table")
    rate = np.where(clear, table.coefficient["climb_rate_fpm"][0][k], -np.inf)
    best = int(np.argmax(rate))
    least = float(candidate.level_limits.least_climb_fpm[row])
    return _why(Reason.CLIMB, least - float(rate[best]), "ft/min", f"short at {table.rows.levels_ft[k, best]:,.0f} ft, "
                f"the lowest level that clears the ground (climbs {max(float(rate[best]), 0.0):,.0f} of {least:,.0f})")


def _terrain(plan: LegPlan, k: int) -> Iterator[Why]:
    lowest_ft = float(plan.plan.table.rows.lowest_ft[plan.rows.row[k]])
    highest_ft = plan.draft.maker.highest_ft
    if math.isfinite(lowest_ft) and lowest_ft > highest_ft:
        yield _why(Reason.TERRAIN, lowest_ft - highest_ft, "ft", f"above the highest level of use, {highest_ft:,.0f} "
                   f"ft: the ground asks for {lowest_ft:,.0f} ft on every way looked at")


def _oxygen(plan: LegPlan, k: int) -> Iterator[Why]:
    row = plan.rows.row[k]
    levels_ft = plan.plan.table.rows.levels_ft[row]
    clear = plan.plan.level_limits.clears_terrain[row]
    free_ft = plan.plan.rules.oxygen_free_ft
    lowest_ft = float(np.nanmin(np.where(clear, levels_ft, np.nan)))
    yield _why(Reason.OXYGEN, lowest_ft - free_ft, "ft", f"above {free_ft:,.0f} ft, the limit without oxygen on board; "
               f"the lowest level that clears the ground is {lowest_ft:,.0f} ft")


def _ends(plan: LegPlan, k: int) -> Iterator[tuple[FieldCheck, Airport, str]]:
    rows = plan.rows
    index = plan.plan.rows
    yield rows.takeoff, plan.places.airports[int(index.from_place[rows.row[k]])], "take-off"
    yield rows.landing, plan.places.airports[int(index.to_place[rows.row[k]])], "landing"
