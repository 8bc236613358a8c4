"""Which figures of a study and of an aircraft the page shows as fields, in whose words, and in what order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from missionsim.aircraft.profile import Profile
from missionsim.page.entries import shown
from missionsim.page.yaml_file import value_at


@dataclass(frozen=True, slots=True)
class Field:
    """One figure somebody may type.

    Parameters
    ----------
    path : str              Dotted key in the file.
    label, hint : str
    choices : tuple of str  The words it may be; empty for figures.
    """

    path: str
    label: str
    hint: str = ""
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Shown:
    """A field with what stands in the file, and the word that is taken where nothing does."""

    field: Field
    text: str
    usual: str = ""


STUDY = (Field("home", "Where the aircraft lives", "an airport or a town, such as Omaha, NE"),
         Field("years_kept", "Years you mean to keep it", "empty: 5, or as many as are flown"),
         Field("year", "Year of the trips"),
         Field("study", "Name of this study"), Field("question", "What you want to know"))
PILOT = (Field("pilot.rating", "Rating", "", ("instrument", "visual")),
         Field("pilot.night", "Flies at night", "", ("yes", "no")), Field("pilot.total_h", "Hours in all"),
         Field("pilot.retractable_h", "of these with retractable gear"), Field("pilot.age", "Age"),
         Field("pilot.weight_lb", "Weight, dressed", "lb"),
         Field("pilot.ceiling_addition_ft", "Added to published ceilings", "ft"),
         Field("pilot.reserve_min", "Fuel left at landing", "minutes"),
         Field("pilot.max_leg_h", "Longest leg with passengers", "hours"))
PRICES = (Field("prices.fuel_usd_per_gal", "Fuel", "dollars a gallon"),
          Field("prices.hangar_usd_per_month", "Hangar", "dollars a month"),
          Field("prices.insurance_usd_per_year", "Insurance, if you have a quote", "dollars a year"),
          Field("value_of_time_usd_per_h", "What an hour of a person is worth to you", "dollars"))
HABITS = (Field("trips_are", "The trips are", "", ("wish_list", "logbook")),
          Field("local_hours_per_year", "Local flying", "hours a year"),
          Field("least_completed_share", "Least share of trips it must make", "0 to 1"),
          Field("when_it_does_not_fit", "What may give when a load does not fit",
                "of leave_gear fewer_aboard two_runs seats_out, or none"),
          Field("kept", "Kept in", "", ("hangar", "tie_down")), Field("plan_by", "Plans by", "", ("time", "cost")),
          Field("mixture", "Mixture", "", ("rich", "lean")),
          Field("oxygen", "Oxygen", "", ("yes", "no", "as_equipped")),
          Field("waking_hours.earliest_departure", "Nobody leaves before", "hour of the day"),
          Field("waking_hours.latest_arrival", "Nobody arrives after", "hour; 25 is one at night"),
          Field("waking_hours.passengers_earliest", "Passengers not before", "hour"),
          Field("waking_hours.passengers_latest", "Passengers not after", "hour"))
LIMITS = (Field("pilot.instrument_current", "Current on instruments", "", ("yes", "no")),
          Field("pilot.multi_engine_h", "Hours with several engines"), Field("pilot.type_h", "Hours in the type"),
          Field("pilot.gear_lb", "Own gear", "lb"),
          Field("pilot.visibility_addition_sm", "Added to published visibility", "miles"),
          Field("pilot.visual_ceiling_ft", "Least ceiling, flying visually", "ft"),
          Field("pilot.visual_visibility_sm", "Least visibility, flying visually", "miles"),
          Field("pilot.max_leg_alone_h", "Longest leg alone", "hours"),
          Field("pilot.max_duty_h", "Longest day", "hours"),
          Field("pilot.max_flight_h_per_day", "Most flying in a day", "hours"),
          Field("pilot.runway_margin", "Runway needed, times the book's"),
          Field("pilot.open_water_nm", "Most beyond gliding distance of land, one engine", "nm"),
          Field("pilot.chance_missing_share", "Goes when chance of missing is under", "share, 0 to 1"),
          Field("pilot.chance_both_below_share", "of both ends below minima under", "share, 0 to 1"),
          Field("pilot.chance_visual_share", "visually, when chance of staying so is over", "share, 0 to 1"))
MORE_PRICES = (Field("prices.tiedown_usd_per_month", "Tie-down", "dollars a month"),
               Field("prices.oil_usd_per_quart", "Oil", "dollars a quart"),
               Field("prices.labor_usd_per_h", "A mechanic's hour", "dollars"),
               Field("prices.subscriptions_usd_per_year", "Subscriptions", "dollars a year"),
               Field("prices.training_usd_per_year", "Training", "dollars a year"),
               Field("prices.property_tax_usd_per_year", "Property tax", "dollars a year"),
               Field("prices.miscellaneous_usd_per_year", "Sundries", "dollars a year"),
               Field("prices.landing_fee_usd", "A landing", "dollars"),
               Field("prices.overnight_parking_usd", "A night's parking", "dollars"),
               Field("prices.hotel_usd_per_night", "A hotel night", "dollars"),
               Field("prices.own_money_share_per_year", "What own money earns elsewhere", "share a year, 0.05"),
               Field("prices.fuel_at", "Fuel elsewhere", "KOMA: 6.10, KLBF: 5.80"),
               Field("years", "Years flown one after the other",
                     "1: one stands for all it is kept; more: it is kept so many"),
               Field("dollars", "Cash of later years in", "", ("today", "nominal")),
               Field("rent_available", "An aircraft can be rented", "", ("yes", "no")),
               Field("rent_aircraft", "The one that can be rented", "its file in this folder"),
               Field("seed", "Number that draws the years"))
ELSEWHERE = {
    "candidates": "the hangar", "trips": "the table of trips", "demand": "where you go how often",
    "members": "the partnership", "outside": "the hire", "operation": "the hire", "replications": "the button Fly",
    "extends": "a matter of files", "airports": "written by hand", "airports_file": "a matter of files",
    "runways_file": "a matter of files", "weather_files": "a matter of files", "assumptions": "written by hand"}
"""Keys of a study that no single field is for, and where they are met."""
HANGAR: tuple[tuple[str, tuple[Field, ...]], ...] = (
    ("The offer", (Field("name", "Name"), Field("prices.asking_price_usd", "Asking price", "dollars"),
                   Field("identity.year", "Year built"), Field("identity.gear", "Gear", "", ("fixed", "retractable")),
                   Field("identity.seats", "Seats"))),
    ("Engine and propeller", (
        Field("engine.rated_hp", "Power", "hp"), Field("engine.tbo_h", "Time between overhauls", "hours"),
        Field("engine.hours_since_overhaul_h", "Hours since overhaul"),
        Field("engine.overhaul_year", "Year of overhaul"),
        Field("engine.overhaul_kind", "Overhauled by", "", ("field", "shop", "factory", "unknown")),
        Field("engine.compression_psi_of_80", "Lowest compression", "of 80"),
        Field("propeller.hours_since_overhaul_h", "Propeller, hours since overhaul"))),
    ("Panel", (Field("panel.approach", "Best approach it can fly", "", ("none", "vor", "lnav", "ils", "lpv")),
               Field("panel.autopilot", "Autopilot", "", ("none", "single_axis", "two_axis")),
               Field("panel.oxygen", "Oxygen", "", ("none", "portable", "fixed")),
               Field("panel.ice_protection", "Ice protection", "", ("none", "escape", "approved")))),
    ("Upkeep", (Field("state.airframe_hours_h", "Hours of the airframe"),
                Field("state.months_since_annual", "Months since the annual"),
                Field("state.damage_history", "Damage", "", ("none", "old_minor", "recent_major", "unknown")),
                Field("state.logs_complete", "Logs complete", "", ("yes", "no", "unknown")),
                Field("state.hangared", "Kept in a hangar", "", ("yes", "no", "unknown")))),
    ("Weights", (Field("weights.max_takeoff_lb", "Maximum take-off weight", "lb"),
                 Field("weights.empty_weight_lb", "Empty weight", "lb"),
                 Field("weights.useful_load_lb", "Useful load", "lb"),
                 Field("weights.brochure_useful_load_lb", "Useful load in the brochure", "lb"),
                 Field("weights.max_landing_lb", "Maximum landing weight", "lb"),
                 Field("weights.max_zero_fuel_lb", "Maximum weight without fuel", "lb"))),
)
STATIONS = (Field("name", "Name"), Field("seats", "Seats", "in this row"),
            Field("kind", "For", "", ("seat", "baggage")), Field("arm_in", "Arm", "inches behind the datum"),
            Field("max_lb", "Limit", "lb"), Field("freight_lb", "Freight without seats", "lb"),
            Field("seats_weigh_lb", "Seats weigh", "lb"))
TANKS = (Field("name", "Name"), Field("usable_gal", "Usable", "gallons"),
         Field("arm_in", "Arm", "inches behind the datum"), Field("order", "Filled as number", "1 is first"))
ARMS = (Field("weights.empty_arm_in", "Arm of the empty aircraft", "inches behind the datum"),
        Field("envelope", "Envelope, corner by corner", "inches at pounds: 37.2 at 1500, 41.2 at 3060"))


_ON_THE_CARD = {f.path: f.label + (f", {f.hint}" if f.hint else "") for _, group in HANGAR for f in group}
LABELS = _ON_THE_CARD | {
    "tanks.usable_gal": "Usable fuel, gallons", "book.cruise.tas_kt": "Cruising speed, knots",
    "book.cruise.fuel_flow_gph": "Fuel flow, gallons an hour", "book.cruise.level_ft": "Cruising level, ft",
    "book.cruise.power_share": "Cruising power, share", "book.climb_fpm": "Rate of climb, ft a minute",
    "book.service_ceiling_ft": "Service ceiling, ft", "book.takeoff.ground_roll_ft": "Take-off roll, ft",
    "book.takeoff.over_50ft_ft": "Take-off over 50 ft, ft", "book.landing.over_50ft_ft": "Landing over 50 ft, ft",
    "book.vs0_cas_kt": "Stalling speed, flaps down, knots",
    "book.landing.ground_roll_ft": "Landing roll, ft", "book.range.range_nm": "Range, nautical miles",
    "limits.demonstrated_crosswind_kt": "Demonstrated crosswind, knots", "identity.pressurised": "Pressurised",
    "engine.count": "Engines", "engine.cylinders": "Cylinders", "engine.fuel": "Fuel",
    "engine.aspiration": "Boosted or not", "engine.monitor": "Engine monitor",
    "engine.fuel_injected": "Fuel injected", "engine.lean_of_peak": "Runs lean of peak",
    "engine.matched_injectors": "Matched injectors", "panel.ils_receiver": "ILS receiver",
    "panel.shoulder_belts": "Shoulder belts",
    "engine.second_hours_since_overhaul_h": "Hours since overhaul, second engine",
    "propeller.constant_speed": "Constant-speed propeller", "propeller.blades": "Blades of the propeller",
    "propeller.overhaul_year": "Propeller, year of overhaul", "panel.ads_b": "Sends its position (ADS-B out)",
    "panel.autopilot_works": "Autopilot works", "panel.electronic_attitude": "Electronic attitude display",
    "panel.weather_on_board": "Weather shown on board", "state.open_directives_usd": "Open directives, dollars",
    "state.coastal": "Lived on the coast or outside", "state.gear_serviced": "Gear serviced",
    "state.tank_sealant_good": "Tank sealant good", "state.hours_flown_per_year_h": "Hours flown a year of late"}
"""Figures of an aircraft in the words of its card, by key."""
_OF_STUDY = {field.path: field.label for fields in (STUDY, PILOT, PRICES, HABITS, LIMITS, MORE_PRICES)
             for field in fields}


def named(key: str) -> str:
    """Return a key of a study or an aircraft in the words of its field; empty for one that has none."""
    return _OF_STUDY.get(key) or LABELS.get(key, "").split(",", maxsplit=1)[0]


def shown_fields(fields: Sequence[Field], get: Callable[[Sequence[str]], Any], model: type[BaseModel] | None = None,
                 ) -> list[Shown]:
    """Return fields with what the file says; `get` reads a key path, `model` knows what is taken where it has none."""
    return [Shown(field, shown(get(field.path.split("."))), usual_word(model, field)) for field in fields]


def usual_word(model: type[BaseModel] | None, field: Field) -> str:
    """Return the word a field of choices stands for when left empty; empty where the model does not say."""
    value: Any = None
    for key in field.path.split("."):
        known = None if model is None else model.model_fields.get(key)
        if known is None:
            return ""
        value = known.get_default(call_default_factory=True)
        model = type(value) if isinstance(value, BaseModel) else None
    return shown(value) if field.choices and shown(value) in field.choices else ""


def hangar_fields(data: Any) -> list[tuple[str, list[Shown]]]:
    """Return the groups of an aircraft's card."""
    return [(title, shown_fields(fields, lambda path: value_at(data, path), Profile)) for title, fields in HANGAR]
