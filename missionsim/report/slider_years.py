"""The flown years as sums that a reader may move by sliders, in the saved report too: no program behind it needed.

A slider is offered where a year's cost is straight in what it moves. What changes the flying or the years kept is not.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.report.first_screen import DOTS, MARKS
from missionsim.study.compare.alternatives import OWN, Alternative
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.recost import UNCHANGED, Change, Recosted

MOST_YEARS = 400
FUEL, HANGAR = "cost.fuel_usd_per_gal", "cost.hangar_usd_per_month"
NOT_HERE = "hours flown, yield of own money, years kept, least service and minima need the years flown or costed again"


def slider_years(comparison: Comparison) -> dict[str, Any] | None:
    """Return the years of every alternative in parts, or None where they are too many to carry along.

    Returns
    -------
    dict   `fuel_usd_per_gal`, `value_usd_per_h`: as in the study; `years`: how many; `ways`: by alternative its
           `name`, `mark` (of a candidate, else null) and by year `usd` (all but the value of time), of that `fuel`,
           `hangar`, `travel` (car and airline), and `hours` as they are valued. Whole dollars, tenths of hours; what
           is the same every year is one number. `out`: by name, why a candidate does not do the job.
    """
    if comparison.alternatives is None or comparison.replications > MOST_YEARS:
        return None
    recosted = Recosted(comparison.prepared, [r.tally for r in comparison.results])
    study = comparison.study
    return {"fuel_usd_per_gal": comparison.prepared.prices.fuel_usd_per_gal,
            "value_usd_per_h": study.spec.value_of_time_usd_per_h, "years": comparison.replications, "dots": DOTS,
            "not_here": NOT_HERE,
            "out": {r.name: r.why_not for r in comparison.results if r.does_the_job == "no"},
            "ways": [_way(recosted, x) for x in comparison.alternatives.every if not x.estimate]}


def _way(recosted: Recosted, way: Alternative) -> dict[str, Any]:
    owned = way.kind == OWN
    number = recosted.names.index(way.name) if owned else None
    none = np.zeros(len(way.usd))
    fuel, hangar = (none, none) if number is None else (moved_by(recosted, number, key) for key in (FUEL, HANGAR))
    return {"name": way.name, "mark": None if number is None else number % len(MARKS), "usd": _once(way.usd),
            "fuel": _once(fuel), "hangar": _once(hangar), "travel": _once(way.travel_usd),
            "hours": _once(way.valued_hours, 1)}


def moved_by(recosted: Recosted, number: int, key: str, change: Change = UNCHANGED) -> Array:
    """Return what of a candidate's yearly cost is straight in one price, by replication. [usd]

    Parameters
    ----------
    recosted : Recosted
    number : int      Row of the candidate.
    key : str         Of the assumption.
    change : Change   What is supposed.
    """
    parts = recosted.parts(number, change)
    rows = [i for i, keys in enumerate(parts.prices) if key in keys]
    return np.asarray(parts.usd[:, rows].sum(axis=1))


def _once(values: Array, digits: int = 0) -> Any:
    """Return the values rounded, those all alike as one number."""
    rounded = np.round(values, digits) if digits else np.rint(values).astype(int)
    return rounded[0].item() if len(rounded) and (rounded == rounded[0]).all() else rounded.tolist()
