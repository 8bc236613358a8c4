"""The flown years costed again as sliders stand: what is no sum of categories too, such as hours, yield, years kept.

Prices move as in the saved report. Hours, yield and years kept are laid over by their difference at likely prices.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.errors import MissionsimError
from missionsim.money.categories import Category
from missionsim.report.slider_years import FUEL, HANGAR, moved_by
from missionsim.study.compare.alternatives import OWN, Alternative, does_the_job
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.recost import Change, Recosted
from missionsim.study.replicate.ownership_years import years_kept

BOUNDS = {"fuel": (0.5, 50.0), "value": (0.0, 2_000.0), "hangar": (0.0, 10.0), "travel": (0.0, 10.0),
          "trips": (0.1, 5.0), "yield": (0.0, 0.5), "years": (1.0, 30.0), "least": (0.0, 1.0)}
"""What may be asked for, by slider."""


@dataclass(frozen=True)
class Standing:
    """Where the sliders of a study begin that need the program: yield of own money, years kept, least service."""

    yield_share: float
    years: int
    years_move: bool
    least_share: float


def standing(comparison: Comparison) -> Standing:
    """Return where the sliders begin; years kept move only the view of one year."""
    prepared, spec = comparison.prepared, comparison.study.spec
    return Standing(prepared.prices.own_money_share_per_year, years_kept(prepared), spec.years == 1,
                    spec.least_completed_share or 0.0)


class Slides:
    """A comparison ready to be costed again and again."""

    def __init__(self, comparison: Comparison) -> None:
        if comparison.alternatives is None:
            raise MissionsimError("nothing has been flown yet")
        self.comparison = comparison
        self.ways = [x for x in comparison.alternatives.every if not x.estimate]
        self.recosted = Recosted(comparison.prepared, [r.tally for r in comparison.results])
        self.begin = standing(comparison)
        self._base = self._without_time(Change())
        self._parts: dict[tuple[Any, ...], Array] = {}
        self._must = [t.must_be_possible for t in comparison.prepared.table] if comparison.study.listed else []

    def at(self, given: Mapping[str, Any]) -> dict[str, Any]:
        """Return, by way of having all trips done, the cost of every flown year, and who does not do the job.

        Parameters
        ----------
        given : mapping   Where sliders stand, by their names in `BOUNDS`; those left out stand at the study.

        Raises
        ------
        MissionsimError   A value is no number, or is beyond its bounds.
        """
        at = {name: _number(name, value) for name, value in given.items()}
        change = self._change(at)
        least = at.get("least", self.begin.least_share)
        jobs = {r.name: does_the_job(r.tally, least or None, self._must) for r in self.comparison.results}
        return {"costs": [np.rint(self._cost(way, at, change)).astype(int).tolist() for way in self.ways],
                "out": {name: why for name, (job, why) in jobs.items() if job == "no"}}

    def _change(self, at: Mapping[str, float]) -> Change:
        kept = round(at.get("years", self.begin.years))
        earned = at.get("yield", self.begin.yield_share)
        return Change(trips=at.get("trips", 1.0), years=kept if self.begin.years_move else None,
                      own_money_share=None if earned == self.begin.yield_share else earned)

    def _cost(self, way: Alternative, at: Mapping[str, float], change: Change) -> Array:
        trips, prices = at.get("trips", 1.0), self.comparison.prepared.prices
        value = at.get("value", self.comparison.study.spec.value_of_time_usd_per_h)
        other = (at.get("travel", 1.0) - 1.0) * way.travel_usd * trips + value * trips * way.valued_hours
        if way.kind != OWN:
            return np.asarray(way.usd * trips + other)
        number = self.recosted.names.index(way.name)
        now = self._without_time(change, number)[0] if change != Change(years=self.begin.years) else self._base[number]
        more = {HANGAR: at.get("hangar", 1.0) - 1.0,
                FUEL: at.get("fuel", prices.fuel_usd_per_gal) / prices.fuel_usd_per_gal - 1.0}
        prices_moved = sum(share * self._straight(number, key, change) for key, share in more.items() if share)
        return np.asarray(way.usd + now - self._base[number] + other + prices_moved)

    def _straight(self, number: int, key: str, change: Change) -> Array:
        """Return what of a year's cost is straight in one price; worked out when that price is first moved. [usd]

        Fuel and hangar are bought by the hour and the year: years kept and yield change neither.
        """
        known = (number, key, change.trips)
        if known not in self._parts:
            self._parts[known] = moved_by(self.recosted, number, key, Change(trips=change.trips))
        return self._parts[known]

    def _without_time(self, change: Change, number: int | None = None) -> Array:
        """Return cost a year but for the value of time, by candidate, or of one, and replication. [usd]"""
        change = Change(scale={Category.TIME: 0.0}, trips=change.trips, years=change.years,
                        own_money_share=change.own_money_share)
        numbers = range(len(self.recosted.names)) if number is None else [number]
        return np.stack([self.recosted.cost(i, change) for i in numbers])


def _number(name: str, value: Any) -> float:
    low, high = BOUNDS.get(name, (0.0, -1.0))
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise MissionsimError(f"{name} cannot be {str(value)[:40]}; accepted: {low:g} to {high:g}" if low <= high else
                              f"there is no slider {name[:40]!r}; accepted: {', '.join(BOUNDS)}")
    return float(value)
