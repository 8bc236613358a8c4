"""Which flights need their runways looked at hour by hour, and what those runways are."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from missionsim.aircraft.runway import accepted_surface, required_landing_ft, required_takeoff_ft, surface_codes
from missionsim.base.arrays import Array, Bools, Indices, Ints, Ints8
from missionsim.base.assumptions import Assumptions
from missionsim.decide.candidate_plan import Directions, FieldRows
from missionsim.flight.rules import Rules
from missionsim.physics.atmosphere import isa_deviation_c
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.network import Places
from missionsim.world.airports.table import Airport

HOT_C = 40.0
"""A runway long enough at full weight in calm air at this temperature is never looked at again. [°C]"""
LOW_PRESSURE_FT = 400.0
SPARE_LB, WEIGHT_STEP_LB = 150.0, 100.0
KEPT_ENDS = 2_000
"""Runway ends of so many airports are kept as arrays."""


@lru_cache(maxsize=KEPT_ENDS)
def ends_of(airport: Airport, landing: bool) -> tuple[Array, Array, Indices]:
    """Return headings, lengths and surface codes of an airport's runway ends."""
    heading = np.array([e.heading_deg for e in airport.ends], dtype=float)
    length = np.array([e.landing_length_ft if landing else e.length_ft for e in airport.ends], dtype=float)
    return heading, length, surface_codes(np.array([e.surface for e in airport.ends], dtype=object))


def surface_factor(codes: Indices, landing: bool, assumptions: Assumptions) -> Array:
    """Return by how much each surface lengthens the distance needed."""
    required = required_landing_ft if landing else required_takeoff_ft
    return required(np.ones(len(codes)), codes, assumptions, margin=1.0)


def plainly_long(equipped: Equipped, airports: Sequence[Airport], landing: bool, rules: Rules,
                 assumptions: Assumptions, weight_lb: Array | None = None) -> list[Bools]:
    """Tell for each runway end of airports whether it does at a weight on the hottest afternoon.

    Parameters
    ----------
    equipped : Equipped               The aircraft as the study sees it.
    airports : sequence of Airport
    landing : bool                    Of landings, else of take-offs.
    rules : Rules                     The pilot's.
    assumptions : Assumptions
    weight_lb : (n,) array, optional  One an airport, full where left out. [lb]
    """
    profile = equipped.profile
    full_lb = profile.max_landing_lb if landing else profile.max_takeoff_lb
    heavy_lb = np.full(len(airports), full_lb) if weight_lb is None else np.minimum(weight_lb, full_lb)
    distance = equipped.landing_ft if landing else equipped.takeoff_ft
    altitude_ft = np.array([airport.elevation_ft for airport in airports], dtype=float) + LOW_PRESSURE_FT
    needed = distance(altitude_ft, np.full(len(airports), HOT_C), heavy_lb, np.zeros(len(airports)))
    found = []
    for airport, needed_ft in zip(airports, needed.tolist(), strict=True):
        _, length, codes = ends_of(airport, landing)
        required = needed_ft * surface_factor(codes, landing, assumptions) * rules.runway_margin
        found.append(np.asarray((required <= length) & accepted_surface(profile, codes)))
    return found


def field_rows(equipped: Equipped, places: Places, place: Ints, takeoff_lb: Array,
               assumptions: Assumptions, rules: Rules, landing: bool) -> FieldRows:
    """Return the rows whose runway must be looked at hour by hour, with its ends.

    `takeoff_lb` [row] is the weight expected; draws of people's weights stay within the spare.

    Parameters
    ----------
    equipped : Equipped         The aircraft as the study sees it.
    places : Places
    place : (row,) int array    Where each takes off or lands.
    takeoff_lb : (row,) array   Weight expected. [lb]
    assumptions : Assumptions
    rules : Rules               The pilot's.
    landing : bool              Of landings, else of take-offs.
    """
    step = ((takeoff_lb + SPARE_LB) // WEIGHT_STEP_LB).astype(np.int64) + 1
    pairs, pair = np.unique(np.stack([place, step]), axis=1, return_inverse=True)
    good = plainly_long(equipped, [places.airports[p] for p in pairs[0].tolist()], landing, rules, assumptions,
                        pairs[1] * WEIGHT_STEP_LB)
    doubtful = np.flatnonzero(~np.array([ends.any() for ends in good], dtype=bool)[pair.ravel()])
    return rows_at(equipped, places, doubtful, place, assumptions, landing)


def rows_at(equipped: Equipped, places: Places, row: Ints, place: Ints,
            assumptions: Assumptions, landing: bool) -> FieldRows:
    """Return the runway ends of some rows; `place` [row] is where each of all rows takes off or lands.

    Parameters
    ----------
    equipped : Equipped        The aircraft as the study sees it.
    places : Places
    row : (n,) int array       Some rows.
    place : (row,) int array   Where each of all rows takes off or lands.
    assumptions : Assumptions
    landing : bool             Of landings, else of take-offs.
    """
    width = max((len(places.airports[int(p)].ends) for p in place[row]), default=1) or 1
    heading, length = np.zeros((len(row), width)), np.full((len(row), width), np.nan)
    factor, accepted = np.ones((len(row), width)), np.zeros((len(row), width), dtype=bool)
    for k, r in enumerate(row):
        airport = places.airports[int(place[r])]
        n = len(airport.ends)
        if n:
            heading[k, :n], length[k, :n], codes = ends_of(airport, landing)
            factor[k, :n] = surface_factor(codes, landing, assumptions)
            accepted[k, :n] = accepted_surface(equipped.profile, codes)
    return FieldRows(row, place[row], Directions.of(heading), length, factor, accepted,
                     *both_ways(heading, length / factor, accepted))


def both_ways(heading_deg: Array, length_ft: Array, accepted: Bools) -> tuple[Array, Ints8]:
    """Return the longest runway that can be used in both directions, [k], 0 where there is none, and its ends, [k, 2].

    Arrays [k, end].
    """
    usable = np.where(accepted, np.nan_to_num(length_ft, nan=0.0), 0.0)
    turn = np.abs((heading_deg[:, :, None] - heading_deg[:, None, :]) % 360.0 - 180.0)
    pair = np.where(turn <= 1.0, np.minimum(usable[:, :, None], usable[:, None, :]), 0.0)
    count = usable.shape[1]
    pair = pair.reshape(len(usable), count * count)
    return pair.max(axis=1), np.stack(np.divmod(pair.argmax(axis=1), count), axis=1).astype(np.int8)


def high_rows(equipped: Equipped, elevation_ft: Array, counts: Bools, assumptions: Assumptions,
              ) -> Ints:
    """Return the rows whose departure may lack the climb gradient on the hottest afternoon at full weight.

    `counts` [row]: flights that need one at all, on instruments or among mountains.

    Parameters
    ----------
    equipped : Equipped           The aircraft as the study sees it.
    elevation_ft : (row,) array   Of the fields left. [ft]
    counts : (row,) array         Flights that need a gradient at all.
    assumptions : Assumptions
    """
    altitude_ft = elevation_ft + LOW_PRESSURE_FT
    top_lb = equipped.profile.max_takeoff_lb
    gradient = equipped.performance.climb_gradient_ft_per_nm(
        altitude_ft, isa_deviation_c(altitude_ft, np.full(len(altitude_ft), HOT_C), check=False), top_lb)
    return np.flatnonzero(counts & ~(gradient >= assumptions["flight.least_gradient_ft_per_nm"]))
