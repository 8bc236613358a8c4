"""A planned leg as data for other tools and as tables for people."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from missionsim.base.words import BIT, Reason
from missionsim.flight.leg import by_level
from missionsim.physics.atmosphere import density_altitude_ft
from missionsim.report.text_table import Sheet
from missionsim.study.prepare.gliding import below, beyond_nm
from missionsim.study.prepare.open_water import TAKE_ALONG
from missionsim.study.replicate.exact_plans import FieldCheck
from missionsim.study.replicate.exact_reasons import POINTS, Gap, cg_limits_in
from missionsim.study.single_leg.plan import LegPlan, reasons_of_leg
from missionsim.world.airports.table import Airport
from missionsim.world.ground.water import Glide

CAUTION = ("A planning estimate. The flight manual, a current weather briefing, the regulations and the pilot in "
           "command decide.")


def leg_json(plan: LegPlan) -> dict[str, Any]:
    """Return a leg as plain data: the keys of the contract, and beside them what explains the plan.

    Returns
    -------
    dict   Numbers or None, never NaN. `reasons` hold `reason`, `margin` (by how much it fails), `unit`, `text`.
    """
    why = reasons_of_leg(plan)
    return {
        "from": plan.from_airport.ident, "to": plan.to_airport.ident, "distance_nm": _number(plan.distance_nm, 3),
        "course_deg": _number(plan.course_deg, 3), "go": plan.go,
        "reasons": [{"reason": str(w.reason), "margin": None if w.margin is None else _number(w.margin, 2),
                     "unit": w.unit, "text": w.text} for w in why],
        "flights": [_flight(plan, k) for k in plan.order],
        "aircraft": plan.setting.profile.name, "rules": "instrument" if plan.plan.pilot.rules.instrument else "visual",
        "date": plan.request.when_local.isoformat(timespec="minutes"), "people_lb": plan.people_lb[0].tolist(),
        "bags_lb": _number(plan.bags_lb, 1), "zero_fuel_weight_lb": _number(float(plan.loads.zero_fuel_lb[0]), 1),
        "block_h": _number(block_h(plan), 4) if plan.go else None, "notes": list(notes(plan)),
    }


def block_h(plan: LegPlan) -> float:
    """Return hours from first movement to last stop, fuel stops counted. [h]"""
    order = list(plan.order)
    ground_h = len(order) * plan.plan.times.taxi_h + (len(order) - 1) * plan.plan.times.ground_h
    return float(plan.rows.flight_h[order].sum()) + ground_h


def _flight(plan: LegPlan, k: int) -> dict[str, Any]:
    rows, exact, candidate = plan.rows, plan.rows.exact, plan.plan
    flown = int(exact.plans.reasons[k, 0]) == 0
    here, there = _places(plan, k)
    burn_gal = float(exact.plans.fuel_gal[k, 0]) + candidate.fuel.taxi_gal + candidate.fuel.approach_gal
    level = int(exact.plans.level[k, 0])
    checked = plan.setting.profile.envelope is not None

    def planned(value: float, digits: int) -> float | None:
        return _number(value, digits) if flown else None

    return {
        "from": here.ident, "to": there.ident, "level_ft": planned(float(exact.plans.level_ft[k, 0]), 0),
        "tas_kt": planned(float(exact.plans.tas_kt[k, 0]), 2),
        "groundspeed_kt": planned(float(exact.plans.groundspeed_kt[k, 0]), 2),
        "time_h": planned(float(rows.flight_h[k]), 4), "fuel_burn_gal": planned(burn_gal, 3),
        "fuel_required_gal": planned(float(exact.required_gal[k]), 3),
        "takeoff_weight_lb": planned(float(exact.takeoff_lb[k]), 1),
        "landing_weight_lb": planned(float(exact.landing_lb[k]), 1),
        "cg_takeoff_in": planned(float(rows.balance.cg_in[0, k]), 3) if checked else None,
        "cg_landing_in": planned(float(rows.balance.cg_in[1, k]), 3) if checked else None,
        "cg_zero_fuel_in": _number(float(rows.balance.cg_in[2, k]), 3) if checked else None,
        **_field_numbers(rows.takeoff, here, "takeoff", k), **_field_numbers(rows.landing, there, "landing", k),
        "density_altitude_ft": _density_ft(rows.takeoff, k),
        "landing_density_altitude_ft": _density_ft(rows.landing, k),
        "distance_nm": _number(float(candidate.table.rows.distance_nm[rows.row[k]]), 3),
        "fuel_flow_gph": planned(float(exact.table.coefficient["fuel_flow_gph"][0][k, level]), 3),
        "headwind_kt": planned(float(exact.plans.headwind_kt[k, 0]), 2),
        "reserve_gal": planned(float(exact.reserve_gal[k]), 3), "taxi_gal": _number(candidate.fuel.taxi_gal, 3),
        "alternate": plan.alternate[k] or None, "alternate_gal": _number(float(plan.alternate_gal[k]), 3),
        "levels": _levels(plan, k),
    }


def _field_numbers(check: FieldCheck, place: Airport, what: str, k: int) -> dict[str, Any]:
    end = int(check.end[k])
    return {f"{what}_required_ft": _number(float(check.required_ft[k]), 0),
            f"{what}_available_ft": _number(float(check.available_ft[k]), 0),
            f"{what}_runway": place.ends[end].ident if end >= 0 else None,
            f"{what}_temperature_c": _number(float(check.temperature_c[k]), 1)}


def _density_ft(check: FieldCheck, k: int) -> float | None:
    return _number(float(density_altitude_ft(check.pressure_altitude_ft[k], check.temperature_c[k], check=False)), 0)


def _levels(plan: LegPlan, k: int) -> list[dict[str, Any]]:
    """Return what each level would take, with a verdict."""
    table, row = plan.rows.exact.table, plan.rows.row[k]
    each = by_level(table, plan.air)
    limits = plan.plan.level_limits
    best = int(plan.rows.exact.plans.level[k, 0]) if int(plan.rows.exact.plans.reasons[k, 0]) == 0 else -1
    out = []
    for i, level_ft in enumerate(table.rows.levels_ft[k].tolist()):
        if math.isnan(level_ft):
            continue
        rate = float(each.parts.climb_rate_fpm[k, i])
        block = _blocked(plan, k, i, bool(each.flown.possible[k, i]), rate)
        time_h = float(each.flown.flight_h[k, i]) + plan.plan.times.approach_h
        out.append({
            "level_ft": level_ft, "headwind_kt": _number(float(plan.air.headwind_kt[k, 0, i]), 1),
            "crosswind_kt": _number(float(plan.air.crosswind_kt[k, 0, i]), 1),
            "isa_deviation_c": _number(float(plan.air.isa_deviation_c[k, 0, i]), 1),
            "tas_kt": _number(float(each.parts.tas_kt[k, i]), 1) if table.usable[k, i] else None,
            "groundspeed_kt": _number(float(each.flown.groundspeed_kt[k, i]), 1) if each.flown.possible[k, i] else None,
            "climb_rate_fpm": _number(rate, 0) if table.usable[k, i] else None,
            "time_h": _number(time_h, 4) if each.flown.possible[k, i] else None,
            "fuel_gal": _number(float(each.flown.fuel_gal[k, i]), 2) if each.flown.possible[k, i] else None,
            "clears_terrain": bool(limits.clears_terrain[row, i]), "blocked": block,
            "chosen": i == best,
        })
    return out


def _blocked(plan: LegPlan, k: int, i: int, possible: bool, rate_fpm: float) -> str:
    """Return in words what closes a level to a flight; empty where nothing does."""
    limits, row = plan.plan.level_limits, plan.rows.row[k]
    lowest_ft = float(plan.plan.table.rows.lowest_ft[row])
    least = float(limits.least_climb_fpm[row])
    if not limits.clears_terrain[row, i]:
        return f"terrain: below {lowest_ft:,.0f} ft"
    if not limits.oxygen[row, i]:
        return "oxygen: passengers on board" if plan.plan.pilot.rules.oxygen else "oxygen: none on board"
    if limits.beyond_land_nm is not None and limits.beyond_land_nm[row, i] > limits.most_beyond_nm:
        return f"open water: {limits.beyond_land_nm[row, i]:,.0f} nm of {limits.most_beyond_nm:,.0f}"
    if not plan.rows.exact.table.usable[k, i]:
        return "climb: not reached, or not in the flight manual's table"
    if rate_fpm < least and not (plan.rows.exact.plans.marginal[k, 0] and i == int(plan.rows.exact.plans.level[k, 0])):
        gap = Gap.between(rate_fpm, least)
        return f"climb: {gap.less} of {gap.more} ft/min"
    return "" if possible else "range: no room to climb and descend, or too much wind"


def notes(plan: LegPlan) -> tuple[str, ...]:
    """Return what a reader must know of how the leg was planned."""
    candidate = plan.plan
    out = [plan.skipped_note] if plan.skipped_note else []
    if plan.gave_up:
        out.append(f"not all of the load fits: {plan.gave_up}")
    for k in plan.order:
        route = _route(plan, k)
        here, there = _places(plan, k)
        if not route.known:
            out.append(f"{here.ident} to {there.ident}: terrain unknown; no level was checked against the ground")
        if route.via:
            out.append(f"{here.ident} to {there.ident}: the way bends round high ground, {route.distance_nm:,.0f} nm "
                       f"instead of {route.direct_distance_nm:,.0f}")
        if plan.draft.maker.visual(*_ends_and_way(plan, k)) and candidate.pilot.rules.instrument:
            out.append(f"{here.ident} to {there.ident}: flown under visual rules, by day, over the mountains: the way "
                       "at the instrument minimum is longer or above the levels this aircraft uses. It wants "
                       "cloud bases 2,000 ft above the pass and ridge winds in limits")
        out += _open_water(plan, k)
        if plan.rows.flight_h[k] > plan.comfort_h + 0.05:
            out.append(f"{here.ident} to {there.ident}: longer than the {plan.comfort_h:g} h people like to sit")
        if plan.alternate[k]:
            out.append(f"{there.ident} has no approach that this panel flies: alternate {plan.alternate[k]}")
    if plan.setting.profile.envelope is None:
        out.append("no envelope in the profile: balance was not checked")
    air = plan.request.air
    if air.wind is None or air.deviation_c is None:
        out.append("wind and temperature where not given are what the climate of the day leads to expect; "
                   "ceilings, icing and storms are left out of a single leg")
    return tuple(out)


def _open_water(plan: LegPlan, k: int) -> list[str]:
    """Return how much of a flight with one engine lies beyond gliding distance of land at its level."""
    exact, glide = plan.rows.exact, Glide.assumed(plan.plan.assumptions)
    if plan.setting.profile.engine.count > 1 or int(exact.plans.reasons[k, 0]):
        return []
    ends, level = _places(plan, k), int(exact.plans.level[k, 0])
    nm = float(beyond_nm(plan.plan.table, int(plan.rows.row[k]), below(_route(plan, k), ends), glide)[level])
    if nm < glide.least_nm:
        return []
    minutes = nm / float(exact.plans.groundspeed_kt[k, 0]) * 60.0
    return [f"{ends[0].ident} to {ends[1].ident}: {nm:,.0f} nm, {minutes:,.0f} min of it beyond gliding distance of "
            f"land at {float(exact.plans.level_ft[k, 0]):,.0f} ft; {TAKE_ALONG}"]


def leg_headline(plan: LegPlan) -> list[str]:
    """Return the answer in a few lines: what, whether, why not."""
    chain = " - ".join([plan.from_airport.ident, *(_places(plan, k)[1].ident for k in plan.order)])
    people = plan.people_lb.shape[1]
    rules = "instrument" if plan.plan.pilot.rules.instrument else "visual"
    load = f"{people} on board ({plan.people_lb.sum():,.0f} lb), bags and gear {plan.bags_lb:,.0f} lb"
    lines = [f"{plan.setting.profile.name}: {chain}, {plan.distance_nm:,.0f} nm, course {plan.course_deg:03.0f} true",
             f"{plan.request.when_local:%Y-%m-%d %H:%M} local, {rules} rules, {load}"]
    if plan.go:
        fuel_gal = sum(flight["fuel_burn_gal"] for flight in leg_json(plan)["flights"])
        stops = len(plan.order) - 1
        said = f", {stops} fuel stop{'s' if stops > 1 else ''}" if stops else ""
        flight_h = float(plan.rows.flight_h[list(plan.order)].sum())
        hours = f"{_hours(block_h(plan))} h block, {_hours(flight_h)} h in flight"
        narrow = dict.fromkeys(text for k in plan.order for text in plan.judged.marginal(k))
        return [*lines, f"GOES: {hours}, {fuel_gal:.1f} gal{said}",
                *([f"  adapted to the load: {plan.gave_up}"] if plan.gave_up else []),
                *(f"  marginal on an own rule: {text}" for text in narrow)]
    return [*lines, "DOES NOT GO:", *(f"  {why.text}" for why in reasons_of_leg(plan))]


def leg_sheets(plan: LegPlan) -> list[Sheet]:
    """Return the tables of a leg: levels, fuel, weight and balance, runways; one set a flight."""
    sheets = []
    for k in plan.order:
        flight = _flight(plan, k)
        title = f"{flight['from']} to {flight['to']}"
        sheets += [_level_sheet(plan, title, flight["levels"], k), _fuel_sheet(plan, title, flight),
                   _balance_sheet(plan, title, k), _runway_sheet(plan, title, flight, k)]
    return [sheet for sheet in sheets if sheet.rows]


def _level_sheet(plan: LegPlan, title: str, levels: Sequence[dict[str, Any]], k: int) -> Sheet:
    best = next((x["time_h"] for x in levels if x["chosen"]), None)
    rows = []
    for x in levels:
        verdict = "<- flown" if x["chosen"] else x["blocked"]
        if not verdict and x["time_h"] is not None and best is not None:
            verdict = f"{(x['time_h'] - best) * 60:+.1f} min"
        rows.append((f"{x['level_ft']:,.0f}", _text(x["headwind_kt"]), _text(x["isa_deviation_c"]), _text(x["tas_kt"]),
                     _text(x["groundspeed_kt"]), _text(x["climb_rate_fpm"]), _hours(x["time_h"]),
                     _text(x["fuel_gal"], 1), verdict))
    headings = ("level ft", "headwind kt", "dev. from standard °C", "TAS kt", "GS kt", "climb ft/min", "time h:mm",
                "fuel gal", "why")
    lowest_ft = float(plan.plan.table.rows.lowest_ft[plan.rows.row[k]])
    ground = f"the ground asks for {lowest_ft:,.0f} ft; " if math.isfinite(lowest_ft) else ""
    below = (f"{ground}highest level of use {plan.draft.maker.caps.highest_ft:,.0f} ft; the quickest open level is "
             "flown, or a lower one that takes hardly longer",)
    return Sheet(f"{title}: levels", headings, tuple(rows), below)


def _fuel_sheet(plan: LegPlan, title: str, flight: dict[str, Any]) -> Sheet:
    if flight["time_h"] is None:
        return Sheet(f"{title}: fuel", (), ())
    fuel = plan.plan.fuel
    en_route = flight["fuel_burn_gal"] - fuel.taxi_gal - fuel.approach_gal
    lines = [("start and taxi", fuel.taxi_gal), ("climb, cruise, descent", en_route),
             ("approach and landing", fuel.approach_gal), (f"alternate {flight['alternate'] or ''}".strip(),
                                                           flight["alternate_gal"]),
             (f"reserve, {fuel.reserve_h * 60:.0f} min at {flight['fuel_flow_gph']:.1f} gal/h", flight["reserve_gal"]),
             ("required at start", flight["fuel_required_gal"])]
    below = (f"{plan.plan.fuel.usable_gal:.0f} gal usable; the load leaves room for "
             f"{max(float(np.min(plan.rows.allowed_gal)), 0.0):.1f} gal",)
    rows = tuple((name, f"{gal:.1f}") for name, gal in lines if gal or not name.startswith("alternate"))
    return Sheet(f"{title}: fuel", ("", "gal"), rows, below)


def _balance_sheet(plan: LegPlan, title: str, k: int) -> Sheet:
    profile, balance = plan.setting.profile, plan.rows.balance
    limits = (profile.max_takeoff_lb, profile.max_landing_lb, profile.weights.max_zero_fuel_lb)
    rows = []
    for point, limit in enumerate(limits):
        weight_lb, cg_in = float(balance.weight_lb[point, k]), float(balance.cg_in[point, k])
        low_high = cg_limits_in(profile, weight_lb) if profile.envelope else None
        inside = "not checked" if low_high is None else ("inside" if balance.margin_in[point, k] >= 0.0 else "OUTSIDE")
        over = "" if limit is None or weight_lb <= limit + 1e-6 else " OVER"
        rows.append((POINTS[point], f"{weight_lb:,.0f}{over}", "-" if limit is None else f"{limit:,.0f}",
                     f"{cg_in:.2f}" if low_high else "-",
                     f"{low_high[0]:.1f} to {low_high[1]:.1f}" if low_high else "-", inside))
    return Sheet(f"{title}: weight and balance", ("", "weight lb", "limit lb", "CG in", "limits in", "balance"),
                 tuple(rows))


def _runway_sheet(plan: LegPlan, title: str, flight: dict[str, Any], k: int) -> Sheet:
    rows = []
    for what, check, place in zip(("takeoff", "landing"), (plan.rows.takeoff, plan.rows.landing), _places(plan, k),
                                  strict=True):
        stuck = int(check.bits[k]) & (BIT[Reason.RUNWAY] | BIT[Reason.SURFACE] | BIT[Reason.WIND])
        need, have = flight[f"{what}_required_ft"], flight[f"{what}_available_ft"]
        spare = "-" if need is None or have is None else f"{have - need:+,.0f}"
        density = flight["density_altitude_ft" if what == "takeoff" else "landing_density_altitude_ft"]
        rows.append((f"{'take-off' if what == 'takeoff' else 'landing'} {place.ident}", flight[f"{what}_runway"] or "-",
                     _text(flight[f"{what}_temperature_c"]), _text(density, 0), _text(need, 0), _text(have, 0), spare,
                     "NO" if stuck else "yes"))
    headings = ("", "runway", "temp. °C", "density alt. ft", "needed ft", "there ft", "spare ft", "does it do")
    margin = plan.plan.pilot.rules.runway_margin
    below = (f"needed: distance over 50 ft x surface x the pilot's margin of {margin:g}; slope unknown",)
    return Sheet(f"{title}: runways", headings, tuple(rows), below)


def _places(plan: LegPlan, k: int) -> tuple[Airport, Airport]:
    row = plan.rows.row[k]
    index, airports = plan.plan.rows, plan.places.airports
    return airports[int(index.from_place[row])], airports[int(index.to_place[row])]


def _route(plan: LegPlan, k: int) -> Any:
    return plan.draft.maker.route_of(*_ends_and_way(plan, k))


def _ends_and_way(plan: LegPlan, k: int) -> tuple[int, int, int]:
    row, rows = plan.rows.row[k], plan.plan.rows
    return int(rows.from_place[row]), int(rows.to_place[row]), int(rows.way[row])


def _number(value: float, digits: int) -> float | None:
    return round(value, digits) + 0.0 if math.isfinite(value) else None


def _text(value: float | None, digits: int = 0) -> str:
    return "-" if value is None else f"{round(value, digits) + 0.0:,.{digits}f}"


def _hours(value: float | None) -> str:
    if value is None:
        return "-"
    minutes = round(value * 60)
    return f"{minutes // 60}:{minutes % 60:02d}"
