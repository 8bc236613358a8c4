"""Finished studies of flying for others: what an hour costs, what must be charged, what the owner's trips lose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.parallel import Progress
from missionsim.money.categories import CATEGORIES, FIXED, HOURLY, OUTSIDE, Category
from missionsim.money.hire_rates import least_rate_usd
from missionsim.money.insurance import quote
from missionsim.money.ownership_cash import Ownership
from missionsim.statistics.intervals import Measure, measure, ratio_measure
from missionsim.study.shared_use.hire import Hire
from missionsim.study.shared_use.hire_sums import HireTerms
from missionsim.study.shared_use.owned import columns_usd, draws_of, owned_by_group
from missionsim.study.shared_use.result import (
    NOT_PRINTED,
    SharedResult,
    count_measure,
    mean_reasons,
    result_of,
    share_measure,
)
from missionsim.study.shared_use.sums import Sums, experience_of, least_experience

ONLY_FOR_HIRE = frozenset({Category.INSURANCE, Category.INSPECTION})
"""Of these, what is paid beyond a year without flying for others belongs to it alone."""


@dataclass(frozen=True)
class CandidateRates:
    """One candidate of a finished study; every entry is ready for a table or for JSON."""

    name: str
    missing: tuple[str, ...]
    measures: Mapping[str, Measure]
    full_cost_per_hour_usd: tuple[Mapping[str, Any], ...]
    break_even_rate_usd: Mapping[str, Measure]
    rate_with_margin_usd: Mapping[str, Measure]
    rate_by_revenue_hours: tuple[Mapping[str, Any], ...]
    owner_trips: Mapping[str, Any]
    turned_away: Mapping[str, float]
    insurance: Mapping[str, Any]
    at_other_rates: tuple[Mapping[str, Any], ...]
    profit_usd: Measure | None
    table: Sums = field(metadata=NOT_PRINTED)


RatesResult = SharedResult[Hire, CandidateRates]


def rates(hire: Hire, replications: int | None = None, workers: int = 1, progress: Progress | None = None,
          ) -> RatesResult:
    """Fly the owner's year with and without flying for others, with every candidate; parameters as of `result_of`."""
    return result_of(hire, candidate_rates, replications, workers, progress)


def candidate_rates(hire: Hire, number: int, sums: Sums) -> CandidateRates:
    """Return what is told of one candidate."""
    terms, years = hire.terms, _Years(hire, number, sums)
    t = sums | years.columns()
    incremental = incremental_usd(t)
    full = full_usd(t)
    hours = t["billed_hours"]
    billed = t["passed_on_usd"] + terms.sale.kept_share * t["surcharge_usd"]
    costs = {"incremental": incremental - billed, "full": full - billed}
    return CandidateRates(
        hire.study.candidates[number].name, hire.missing[number], _measures(t, full), tuple(years.curve()),
        {name: break_even(cost, hours, terms) for name, cost in costs.items()},
        {name: break_even(cost, hours, terms, terms.margin_share) for name, cost in costs.items()},
        tuple(_by_hours(t, costs["incremental"], terms)), _owner(t), mean_reasons(t["asked_refused"]),
        _insurance(hire, number), tuple(at_other_rates(t, terms)),
        None if terms.rate_usd_per_h is None else measure(profit_usd(t, terms, terms.rate_usd_per_h)), t)


def _insurance(hire: Hire, number: int) -> dict[str, Any]:
    """Return what an insurer asks with flying for others: the less experienced of owner and crew counts."""
    cost, study = hire.group.alike[0].prepared.flyers[number].cost, hire.study
    pilots = [experience_of(study, person.pilot, study.candidates[number].name) for person in hire.group.persons]
    return quote(cost, least_experience(pilots), study.assumptions, hired_out=True).entry


class _Years:
    """One candidate's ownerships without and with flying for others, each flown year standing for all it is kept."""

    def __init__(self, hire: Hire, number: int, table: Sums) -> None:
        self.terms, self.table = hire.terms, table
        self.entrant = hire.group.alike[0].prepared.entrants[number]
        self.draws = draws_of(self.entrant, len(table["flight_hours"]))

    def columns(self) -> Sums:
        """Return dollars a year, by replication; what belongs to flying for others stands in `both`."""
        t = self.table
        alone = owned_by_group(self.entrant, t["alone_cents"], t["alone_hours"], self.draws)
        both = self._both(1.0)
        extra = t["crew_usd"] + self.terms.conformity_usd_per_year
        outside, fixed = columns_usd(both, OUTSIDE), columns_usd(both, FIXED) + self.terms.conformity_usd_per_year
        net = columns_usd(both, frozenset(CATEGORIES)) + extra
        whole = columns_usd(alone, frozenset(CATEGORIES))
        lost = outside - columns_usd(alone, OUTSIDE)
        inside = frozenset(CATEGORIES) - OUTSIDE
        bound = columns_usd(both, inside) - columns_usd(self._both(1.0, limits_bind=False), inside)
        own = extra + lost + bound + columns_usd(both, ONLY_FOR_HIRE) - columns_usd(alone, ONLY_FOR_HIRE)
        return {"alone_net_usd": whole, "alone_fixed_usd": columns_usd(alone, FIXED),
                "net_usd": net, "cost_usd": net - outside, "fixed_usd": fixed, "for_hire_usd": own, "lost_usd": lost,
                "value_lost_usd": columns_usd(both, frozenset({Category.VALUE_LOST})),
                "direct_usd": columns_usd(both, HOURLY)}

    def curve(self) -> list[dict[str, Any]]:
        """Return the full cost of a flight hour, pay of crews left out, where so many are flown in a year.

        Overhauls fall by the hours flown then, or by the calendar, which binds for hire of either kind.
        """
        flown, rows = self.table["flight_hours"], []
        inside = frozenset(CATEGORIES) - OUTSIDE
        for hours in self.terms.hours_a_year:
            times = np.where(flown > 0.0, hours / np.where(flown > 0.0, flown, 1.0), 0.0)
            usd = columns_usd(self._both(times), inside) + self.terms.conformity_usd_per_year
            rows.append({"hours": hours, **measure(usd / hours)})
        return rows

    def _both(self, times: Array | float, *, limits_bind: bool = True) -> Ownership:
        return owned_by_group(self.entrant, self.table["both_cents"], self.table["flight_hours"],
                              self.draws, limits_bind=limits_bind, trips=times)


def incremental_usd(t: Sums) -> Array:
    """Return the owner's yearly cost with flying for others less that without, own trips lost valued both times."""
    return np.asarray(t["net_usd"] - t["alone_net_usd"], dtype=np.float64)


def full_usd(t: Sums) -> Array:
    """Return what flying for others costs in full, by replication.

    What exists for it alone (crew, joining, the dearer insurance, 100-hour inspections, overhauls that fall due by the
    published hours or the calendar, own trips lost) is its own; of the rest it bears its share of the hours,
    positioning included. Never below the incremental cost in the mean.
    """
    hours = t["flight_hours"]
    share = t["outside_hours"] / np.where(hours > 0.0, hours, 1.0)
    joint = t["cost_usd"] - (t["for_hire_usd"] - t["lost_usd"])
    return np.asarray(t["for_hire_usd"] + joint * share, dtype=np.float64)


def profit_usd(t: Sums, terms: HireTerms, rate_usd_per_h: float) -> Array:
    """Return what the owner gains in each year by flying for others at a price of a revenue hour."""
    revenue = terms.sale.kept_share * (rate_usd_per_h * t["billed_hours"] + t["surcharge_usd"]) + t["passed_on_usd"]
    return np.asarray(revenue - incremental_usd(t))


def at_other_rates(t: Sums, terms: HireTerms) -> list[dict[str, Any]]:
    """Return the owner's gain at other rates where demand falls with the price; empty without a rate or elasticity.

    Hours sold go with the rate to the power of minus the elasticity; what grows with the hours goes along, as far as
    they are sold; the standing costs of offering it stay.
    """
    rate = terms.rate_usd_per_h
    if rate is None or terms.elasticity <= 0.0:
        return []
    standing = (t["fixed_usd"] - t["alone_fixed_usd"]).mean()
    each = incremental_usd(t).mean() - standing
    passed = t["passed_on_usd"].mean()
    kept = terms.sale.kept_share
    rows = []
    for times in (0.7, 0.85, 1.0, 1.15, 1.3):
        sold = times ** -terms.elasticity
        hours = float(t["billed_hours"].mean()) * sold
        gain = kept * (rate * times * hours + sold * t["surcharge_usd"].mean()) + sold * (passed - each) - standing
        rows.append({"rate_usd_per_h": rate * times, "billed_hours": hours, "gain_usd": float(gain)})
    return rows


def break_even(cost_usd: Array, revenue_hours: Array, terms: HireTerms, margin_share: float = 0.0) -> Measure:
    """Return the price of a revenue hour that pays a cost in the mean: sums over sums, with its interval.

    Parameters
    ----------
    cost_usd : (r,) array        Cost a year. [usd]
    revenue_hours : (r,) array   Sold a year. [h]
    terms : HireTerms            What is kept of a price.
    margin_share : float         Of what reaches the owner.
    """
    found = ratio_measure(cost_usd, revenue_hours)
    return {name: None if v is None else float(least_rate_usd(v, 1.0, terms.sale, margin_share))
            for name, v in found.items()}


def _measures(t: Sums, full: Array) -> dict[str, Measure]:
    return {
        "direct_cost_per_hour_usd": ratio_measure(t["direct_usd"], t["flight_hours"]),
        "cost_per_hour_usd": ratio_measure(t["cost_usd"], t["flight_hours"]),
        "billed_hours": count_measure(t["billed_hours"]),
        "value_lost_for_others_usd": measure(t["value_lost_usd"] * t["outside_hours"]
                                             / np.where(t["flight_hours"] > 0.0, t["flight_hours"], 1.0)),
        "flight_hours": count_measure(t["flight_hours"]), "outside_hours": count_measure(t["outside_hours"]),
        "revenue_hours": count_measure(t["revenue_hours"]), "crew_usd": measure(t["crew_usd"]),
        "cost_per_occupied_nm_usd": ratio_measure(full, t["occupied_nm"]),
        "empty_leg_share": share_measure(t["outside_empty_hours"], t["outside_hours"]),
        "requests": count_measure(t["asked_wanted"]),
        "turned_away_share": share_measure(t["asked_refused_all"], t["asked_wanted"]),
        "incremental_cost_usd": measure(incremental_usd(t)),
    }


def _by_hours(t: Sums, incremental: Array, terms: HireTerms) -> list[dict[str, Any]]:
    """Return the price that breaks even by revenue hours sold: what hire costs a year anyhow spread over them.

    What grows with the hours is taken to grow evenly; what does not is the dearer insurance, joining and the calendar.
    """
    sold = float(t["billed_hours"].sum())
    if sold <= 0.0:
        return []
    standing = float((t["fixed_usd"] - t["alone_fixed_usd"]).mean())
    each = float(incremental.sum() - (t["fixed_usd"] - t["alone_fixed_usd"]).sum()) / sold
    return [{"revenue_hours": h, "rate_usd_per_h": float(least_rate_usd(standing + each * h, h, terms.sale))}
            for h in terms.hours_a_year]


def _owner(t: Sums) -> dict[str, Any]:
    """Return what flying for others does to the owner's own trips."""
    lost = t["alone_completed"] - t["own_completed"]
    return {"wanted": count_measure(t["alone_wanted"]), "completed_alone": count_measure(t["alone_completed"]),
            "completed_with": count_measure(t["own_completed"]), "lost": measure(lost),
            "refused_alone": mean_reasons(t["alone_refused"]), "refused_with": mean_reasons(t["own_refused"])}
