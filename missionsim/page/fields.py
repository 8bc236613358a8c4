"""Which figures of a study and of an aircraft the page shows as fields, in whose words, and in what order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from missionsim.page.figures import shown
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
    """A field with what stands in the file."""

    field: Field
    text: str


STUDY = (Field("study", "Name of this study"), Field("question", "What you want to know"),
         Field("home", "Where the aircraft lives", "an airport's identifier, such as KGRI"),
         Field("year", "Year of the trips"), Field("years", "Years you mean to keep it"))
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
                 Field("weights.useful_load_lb", "Useful load", "lb"))),
)


def shown_fields(fields: Sequence[Field], get: Callable[[Sequence[str]], Any]) -> list[Shown]:
    """Return fields with what the file says; `get` reads a key path."""
    return [Shown(field, shown(get(field.path.split(".")))) for field in fields]


def hangar_fields(data: Any) -> list[tuple[str, list[Shown]]]:
    """Return the groups of an aircraft's card."""
    return [(title, shown_fields(fields, lambda path: value_at(data, path))) for title, fields in HANGAR]
