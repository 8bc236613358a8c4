"""A share held against having no aircraft: the same trips all done both ways, hours valued alike."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.statistics.crossings import linear_crossing
from missionsim.statistics.intervals import measure


def against_none(bears_usd: Array, travel: Mapping[str, Array], value_usd_per_h: float) -> dict[str, Any]:
    """Return what a share and what no aircraft comes to, all wanted trips done or given up at their worth.

    Parameters
    ----------
    bears_usd : (r,) array     All that is borne of the aircraft in a year.
    travel : mapping           (r,) arrays named as by `sums.travel_sums`, of the same people and years.
    value_usd_per_h : float    What the study values an adult's hour at.

    Returns
    -------
    dict    Of the share `bears_usd, car_and_airline_usd, given_up_usd, time_usd` and `net_cost_usd`, their sum; of no
            aircraft the same under `none_*`; paired differences `more_than_none_usd`, `hours_saved` of all
            travellers on trips that neither gives up, and `valued_hours_saved`, as they are valued;
            `equals_not_owning_usd_per_h`.
    """
    time, none_time = (value_usd_per_h * travel[name] for name in ("valued_h", "none_valued_h"))
    share = bears_usd + travel["other_usd"] + travel["lost_usd"]
    none = travel["none_usd"] + travel["none_lost_usd"]
    summed = {
        "bears_usd": bears_usd, "car_and_airline_usd": travel["other_usd"], "given_up_usd": travel["lost_usd"],
        "time_usd": time, "net_cost_usd": share + time, "none_car_and_airline_usd": travel["none_usd"],
        "none_given_up_usd": travel["none_lost_usd"], "none_time_usd": none_time, "none_net_cost_usd": none + none_time,
        "more_than_none_usd": share + time - none - none_time, "hours_saved": travel["saved_h"],
        "valued_hours_saved": travel["saved_valued_h"]}
    return {name: measure(values) for name, values in summed.items()} | {
        "equals_not_owning_usd_per_h": equals_not_owning(share - none, travel["saved_valued_h"])}


def none_net_usd(travel: Mapping[str, Array], value_usd_per_h: float) -> Array:
    """Return what the trips cost a year where there is no aircraft, hours as valued; `travel` as of `against_none`."""
    return np.asarray(travel["none_usd"] + travel["none_lost_usd"] + value_usd_per_h * travel["none_valued_h"])


def equals_not_owning(more_usd: Array, saved_valued_h: Array) -> dict[str, float | None]:
    """Return the value of an adult hour at which a share costs as much as having no aircraft: `at, low, high`.

    None where it saves no hours, where it costs less whatever an hour is worth, and where that cannot be told.

    Parameters
    ----------
    more_usd, saved_valued_h : (r,) arrays    What the share costs more, hours left out, and hours saved as valued. [h]
    """
    point = linear_crossing(more_usd, -saved_valued_h)
    if point is None or point.rising or point.at < 0.0 or point.high is None:
        return {"at": None, "low": None, "high": None}
    return {"at": point.at, "low": None if point.low is None else max(point.low, 0.0), "high": point.high}
