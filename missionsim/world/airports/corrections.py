"""What open data does not say about an airport: assumed by runway class, or given by the user."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import Fault, InputError
from missionsim.world.airports.records import APPROACHES, Airport, RunwayEnd, heading_from_ident

KEYS = ("name", "latitude_deg", "longitude_deg", "elevation_ft", "region", "timezone", "declination_deg", "public",
        "has_fuel", "fuel_price_usd_per_gal", "landing_fee_usd", "approach", "approach_ceiling_ft",
        "approach_visibility_sm", "minimum_altitude_ft", "runways")
"""Fields a user may give for an airport; `runways` is a list with the keys of `schema.RunwaySpec`."""


def assumed_approach_rank(size: Any, lighted_paved_ft: Any, assumptions: Assumptions) -> np.ndarray:
    """Return the rank (row of `APPROACHES`) of the approach that runway class and size suggest; arrays in and out."""
    length = np.asarray(lighted_paved_ft, dtype=float)
    ils = (np.asarray(size) >= 1) & (length >= assumptions["airport.ils_lighted_paved_ft"])
    choices = [ils, length >= assumptions["airport.lpv_lighted_paved_ft"],
               length >= assumptions["airport.lnav_lighted_paved_ft"]]
    ranks = [APPROACHES.index(name) for name in ("ils", "lpv", "lnav")]
    return np.select(choices, ranks, 0).astype(np.int8)


def with_assumed_services(airport: Airport, assumptions: Assumptions, assumed: Sequence[str] = (),
                          given: Sequence[str] = ()) -> Airport:
    """Return the airport with fuel and approach by runway class, except fields that were given.

    Parameters
    ----------
    airport : Airport
    assumptions : Assumptions
    assumed : sequence of str   Services taken as the class of runway has them.
    given : sequence of str     Services that the user gave.
    """
    rank = assumed_approach_rank(airport.size, airport.longest_ft(("paved",), lighted=True) * airport.public,
                                 assumptions)
    services: dict[str, Any] = {
        "has_fuel": airport.public and airport.longest_ft(("paved",)) >= assumptions["airport.fuel_paved_ft"],
        "approach": APPROACHES[int(rank)],
    }
    services = {key: value for key, value in services.items() if key not in given}
    return replace(airport, **services, assumed=(*assumed, *services))


def corrected(airport: Airport, fields: Mapping[str, Any], ident: str, assumptions: Assumptions) -> Airport:
    """Return an airport with the user's fields in place; what they did not give stays, assumptions included.

    Parameters
    ----------
    airport : Airport
    fields : mapping   Figures by key, as the user gives them.
    ident : str        As the user wrote it.
    assumptions : Assumptions
    """
    values = _values(fields, fields.get("declination_deg", airport.declination_deg))
    still = [f for f in airport.assumed if f not in values and f not in ("has_fuel", "approach")]
    kept = [f for f in ("has_fuel", "approach") if f in values or f not in airport.assumed]
    names = tuple(sorted({*airport.names, ident.strip().upper()}))
    return with_assumed_services(replace(airport, **values, names=names), assumptions, still, kept)


def added(ident: str, fields: Mapping[str, Any], like: Airport, assumptions: Assumptions) -> Airport:
    """Return a new airport; time zone, declination and region are those of the nearest one when not given.

    Parameters
    ----------
    ident : str        As the user wrote it.
    fields : mapping   Figures by key, as the user gives them.
    like : Airport     The nearest airport.
    assumptions : Assumptions
    """
    word = ident.strip().upper()
    taken = {"region": like.region, "timezone": like.timezone, "declination_deg": like.declination_deg}
    values = {"name": word, **taken, **_values(fields, fields.get("declination_deg", like.declination_deg))}
    assumed = [key for key in taken if key not in fields]
    return with_assumed_services(Airport(ident=word, names=(word,), **values), assumptions, assumed, list(values))


def _values(fields: Mapping[str, Any], declination_deg: float) -> dict[str, Any]:
    values = {key: value for key, value in fields.items() if key in KEYS and key != "runways" and value is not None}
    if fields.get("fuel_price_usd_per_gal") is not None:
        values.setdefault("has_fuel", True)
    if fields.get("runways") is not None:
        values["ends"] = tuple(end for runway in fields["runways"] for end in _ends(runway, declination_deg))
    return values


def _ends(runway: Mapping[str, Any], declination_deg: float) -> tuple[RunwayEnd, RunwayEnd]:
    first, _, second = str(runway["ends"]).partition("/")
    heading = runway.get("heading_deg")
    if heading is None:
        heading = heading_from_ident(first, declination_deg)
    if not np.isfinite(heading):
        raise InputError([Fault("airports", "runways.ends", f"is {runway['ends']!r}, which implies no heading",
                                "a name such as 17/35, or heading_deg as well")])
    length = float(runway["length_ft"])
    displaced = runway.get("displaced_threshold_ft") or (0.0, 0.0)
    first_end, second_end = (
        RunwayEnd(ident=ident.strip().upper() or "?", heading_deg=(float(heading) + turn) % 360.0, length_ft=length,
                  landing_length_ft=length - float(short), width_ft=runway.get("width_ft"),
                  surface=runway.get("surface", "paved"), lighted=bool(runway.get("lighted", False)))
        for ident, turn, short in ((first, 0.0, displaced[0]), (second, 180.0, displaced[1])))
    return first_end, second_end
