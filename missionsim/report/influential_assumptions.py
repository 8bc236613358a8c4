"""Which assumptions weigh in a result: those behind the reasons and costs that occurred, and the study's own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from missionsim.base.words import REASONS
from missionsim.report.draw_money import group_table
from missionsim.report.wording import source_words
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.questions import worth_asking

LEAST_TRIPS, LEAST_SHARE = 0.25, 0.03
"""A reason or a group of costs weighs from so many trips a year, or from such a share of the cost, of any candidate."""

ALWAYS = ("pilot.reserve_min", "pilot.max_leg_h", "trip.later_h", "trip.overnight_later_h", "trip.return_later_h",
          "year.late_outbound_h", "year.late_home_h", "flight.routing_instrument", "flight.taxi_out_min",
          "flight.fuel_stop_min")
BY_REASON: Mapping[str, tuple[str, ...]] = {
    "payload": ("year.adult_weight_lb", "year.child_weight_lb", "pilot.gear_lb", "aircraft.avgas_lb_per_gal",
                "aircraft.cargo_per_free_seat_lb"),
    "runway": ("runway.margin", "runway.takeoff_surface"),
    "climb": ("flight.least_gradient_ft_per_nm", "flight.least_climb_mountain_fpm"),
    "oxygen": ("flight.oxygen_free_ft",),
    "ceiling": ("flight.approach_minima", "flight.instrument_departure_minimum", "flight.visual_landing_minimum",
                "pilot.ceiling_addition_ft", "pilot.chance_missing_share", "pilot.chance_both_below_share"),
    "visibility": ("pilot.visibility_addition_sm",),
    "icing": ("icing.thin_layer_ft", "icing.cross_thin_layers"),
    "thunderstorm": ("storms.line_coverage", "storms.end_coverage"),
    "wind": ("year.max_wind_kt", "year.max_gust_spread_kt", "runway.crosswind_of_demonstrated_share"),
    "turbulence": ("flight.ridge_wind_kt",),
    "duty": ("pilot.max_duty_h", "pilot.max_flight_hand_flown_h", "pilot.max_flight_autopilot_h"),
    "maintenance": ("maintenance.grounding_interval_h", "maintenance.repair_days"),
}
BY_GROUP: Mapping[str, tuple[str, ...]] = {
    "Fuel": ("cost.fuel_usd_per_gal",),
    "Maintenance": ("maintenance.annual_flat_usd", "maintenance.findings_ratio", "maintenance.consumables_usd_per_h",
                    "maintenance.fault_cost_usd"),
    "Engine and propeller": ("engine_life.overhaul_usd", "engine_life.tbo_h"),
    "Hangar": ("cost.hangar_usd_per_month",),
    "Insurance": ("insurance.hull_share", "insurance.liability_usd"),
    "Training, other fixed": ("cost.training_usd", "cost.weather_usd", "cost.databases_usd"),
    "Value lost": ("cost.own_money_share",),
    "Travel otherwise": ("time.choice_usd_per_h", "cost.car_usd_per_sm", "cost.airline_fare_usd",
                         "cost.airline_fare_usd_per_nm", "cost.short_notice_factor", "cost.freight_usd_per_lb"),
}


@dataclass(frozen=True, slots=True)
class Used:
    """One assumption as a reader sees it."""

    key: str
    what: str
    value: str
    source: str
    span: str


def influential_assumptions(comparison: Comparison) -> list[Used]:
    """Return the assumptions that weigh in this result, the study's own first, each once."""
    assumptions = comparison.study.assumptions
    keys = [a.key for a in assumptions if a.overridden]
    for reason in _reasons(comparison):
        keys += BY_REASON.get(reason, ())
    for group in _groups(comparison):
        keys += BY_GROUP.get(group, ())
    keys += ["unknown." + q.figure.replace(".", "_") for q in worth_asking(comparison.questions or ())]
    keys += ALWAYS
    known = {a.key for a in assumptions}
    return [_used(comparison, key) for key in dict.fromkeys(keys) if key in known]


def _reasons(comparison: Comparison) -> list[str]:
    total = [sum(t.mean(axis=0) for t in (r.tally.structural, r.tally.on_the_day, r.tally.delayed))
             for r in comparison.results]
    return [str(reason) for i, reason in enumerate(REASONS) if max(float(t[i]) for t in total) >= LEAST_TRIPS]


def _groups(comparison: Comparison) -> list[str]:
    found: dict[str, None] = {}
    for result in comparison.results:
        table = group_table(result)
        whole = sum(float(v.mean()) for v in table.values()) or 1.0
        found |= {name: None for name, values in table.items() if float(values.mean()) >= LEAST_SHARE * whole}
    return list(found)


def _used(comparison: Comparison, key: str) -> Used:
    entry = comparison.study.assumptions.entry(key)
    group, _, name = key.partition(".")
    spec = comparison.study.spec
    own = getattr({"pilot": spec.pilot, "cost": spec.prices}.get(group), name, None)
    if own is not None:
        return Used(key, entry.what, _shown(own, entry.unit), "the study", "")
    span = "" if entry.low is None or entry.high is None else f"{_value(entry.low)} to {_value(entry.high)}"
    return Used(key, entry.what, _shown(entry.value, entry.unit), source_words(entry.source), span)


def _shown(value: Any, unit: str) -> str:
    return _value(value) if unit in {"-", ""} else f"{_value(value)} {unit}"


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "; ".join(f"{str(k).replace('_', ' ')} {_value(v)}" for k, v in value.items())
    if isinstance(value, list | tuple):
        return " / ".join(_value(v) for v in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:,.10g}"
    return str(value)
