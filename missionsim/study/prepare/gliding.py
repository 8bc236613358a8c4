"""How much of flights lies beyond gliding distance of land, by level."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from missionsim.base.arrays import Array
from missionsim.decide.candidate_plan import RowIndex
from missionsim.flight.table import FlightTable
from missionsim.study.prepare.lanes import LaneSet
from missionsim.world.airports.table import Airport
from missionsim.world.ground.routes import Route
from missionsim.world.ground.water import Glide, Heights, OverWater, Water


def below(route: Route, ends: Sequence[Airport]) -> OverWater | None:
    """Return what lies below a route between two airports, None where all of it is land or unknown."""
    first, last = ((a.latitude_deg, a.longitude_deg) for a in ends)
    return Water.packaged().below([first, *route.via, last])


def beyond_nm(table: FlightTable, row: int, over: OverWater | None, glide: Glide) -> Array:
    """Return how much of a flight lies beyond gliding distance of land at each of its levels, [level]. [nm]

    Parameters
    ----------
    table : FlightTable
    row : int                  Of the flight.
    over : OverWater or None   What lies below it.
    glide : Glide
    """
    levels_ft = table.rows.levels_ft[row]
    if over is None:
        return np.zeros(len(levels_ft))
    return over.beyond_nm(Heights(levels_ft, table.coefficient["climb_nm"][0][row], table.descent_nm[row],
                                  float(table.rows.from_ft[row]), float(table.rows.to_ft[row])), glide)


def all_beyond_nm(table: FlightTable, rows: RowIndex, lanes: LaneSet, airports: Sequence[Airport], glide: Glide,
                  ) -> Array:
    """Return how much of each flight lies beyond gliding distance of land at each level, [row, level]. [nm]

    Parameters
    ----------
    table : FlightTable
    rows : RowIndex
    lanes : LaneSet
    airports : sequence of Airport   By row of places.
    glide : Glide
    """
    found, known = np.zeros(table.rows.levels_ft.shape), dict[int, OverWater | None]()
    for row, route in enumerate(lanes.route[rows.lane].tolist()):
        if route not in known:
            known[route] = below(lanes.routes[route],
                                 (airports[rows.from_place[row]], airports[rows.to_place[row]]))
        found[row] = beyond_nm(table, row, known[route], glide)
    return found
