"""From the study's pilot and an aircraft's panel to rules, crew and limits."""

from __future__ import annotations

from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.flight.minima import Crew
from missionsim.flight.rules import Rules, legal_reserve_min
from missionsim.study.inputs.schema import Pilot
from missionsim.year.aircraft import TripLimits

PLANNED = "pilot."


def pilot_figure(pilot: Pilot, name: str, assumptions: Assumptions) -> float:
    """Return the pilot's own figure, else the assumption of the same name."""
    value = getattr(pilot, name)
    return float(assumptions[PLANNED + name] if value is None else value)


def rules_for(pilot: Pilot, profile: Profile, oxygen: str, assumptions: Assumptions) -> Rules:
    """Return the rules a pilot flies this aircraft by.

    Parameters
    ----------
    pilot : Pilot
    profile : Profile
    oxygen : str        `yes`, `no` or `as_equipped`: what the study says of oxygen.
    assumptions : Assumptions
    """
    instrument = pilot.rating == "instrument" and pilot.instrument_current
    reserve_min = pilot_figure(pilot, "reserve_min", assumptions)
    carried = profile.panel.oxygen != "none" if oxygen == "as_equipped" else oxygen == "yes"
    return Rules(
        instrument=instrument, night=pilot.night,
        reserve_day_min=max(reserve_min, legal_reserve_min(assumptions, instrument, night=False)),
        reserve_night_min=max(reserve_min, legal_reserve_min(assumptions, instrument, night=True)),
        oxygen=carried, oxygen_free_ft=assumptions["flight.oxygen_free_ft"],
        cabin_differential_psi=cabin_differential_psi(profile, assumptions),
        max_leg_h_with_passengers=pilot_figure(pilot, "max_leg_h", assumptions),
        max_leg_h_alone=pilot_figure(pilot, "max_leg_alone_h", assumptions),
        max_flight_h_per_day=_max_flight_h(pilot, profile, assumptions),
        max_duty_h=pilot_figure(pilot, "max_duty_h", assumptions),
        runway_margin=float(pilot.runway_margin or assumptions["runway.margin"]),
        max_wind_kt=assumptions["year.max_wind_kt"],
        max_gust_spread_kt=assumptions["year.max_gust_spread_kt"],
        max_tailwind_kt=assumptions["year.max_tailwind_kt"],
        tolerance_share=assumptions["flight.own_rule_tolerance_share"],
    )


def cabin_differential_psi(profile: Profile, assumptions: Assumptions) -> float:
    """Return what the cabin holds over the air outside; 0 where it is not pressurised. [psi]"""
    if not profile.identity.pressurised:
        return 0.0
    return float(profile.limits.cabin_differential_psi or assumptions["flight.cabin_differential_psi"])


def crew_for(pilot: Pilot, profile: Profile, assumptions: Assumptions) -> Crew:
    """Return what pilot and panel bring to weather minima."""
    panel = profile.panel.approach
    return Crew(
        instrument=pilot.rating == "instrument", current=pilot.instrument_current, panel=panel,
        autopilot=has_autopilot(profile), ceiling_addition_ft=pilot_figure(pilot, "ceiling_addition_ft", assumptions),
        visibility_addition_sm=pilot_figure(pilot, "visibility_addition_sm", assumptions),
    )


def has_autopilot(profile: Profile) -> bool:
    """Tell whether a two-axis autopilot can be counted on; one that may not work is counted as working."""
    return profile.panel.autopilot == "two_axis" and profile.panel.autopilot_works is not False


def limits_for(rules: Rules, assumptions: Assumptions) -> TripLimits:
    """Return the limits the event loop applies itself."""
    a = assumptions
    return TripLimits(
        max_flight_per_day_h=rules.max_flight_h_per_day, max_duty_h=rules.max_duty_h, rest_h=a["flight.rest_h"],
        before_departure_h=a["waking.before_departure_h"], wakes_local_h=a["waking.wakes_local_h"],
        least_stay_h=a["year.least_stay_h"],
        hold_for_weather_h=a["year.hold_for_weather_h"], late_outbound_h=a["year.late_outbound_h"],
        late_home_h=a["year.late_home_h"], substitute_block_h=a["year.substitute_h"],
        taxi_h=(a["flight.taxi_out_min"] + a["flight.taxi_in_min"]) / 60.0,
        fetched_after_h=a["year.fetched_after_h"], road_kt=float(a["cost.car_speed_kt"]),
    )


def _max_flight_h(pilot: Pilot, profile: Profile, assumptions: Assumptions) -> float:
    if pilot.max_flight_h_per_day is not None:
        return pilot.max_flight_h_per_day
    name = "autopilot" if has_autopilot(profile) else "hand_flown"
    return float(assumptions[f"pilot.max_flight_{name}_h"])
