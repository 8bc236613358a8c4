"""What a group agreed to pay and what it comes to: terms, payments, the deductible, and the fund over the years."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.money.cost_profile import CostProfile
from missionsim.money.cost_sharing import (
    Bills,
    Deductible,
    DuesTerms,
    FundPaths,
    Payments,
    covering_terms,
    fund_paths,
    payments,
)
from missionsim.money.overhauls import overhauls, uniform_draws
from missionsim.statistics.intervals import Measure, measure
from missionsim.study.inputs.load_study import Study
from missionsim.study.inputs.schema_sharing import Sharing
from missionsim.study.shared_use.result import share_measure
from missionsim.study.shared_use.sums import Sums

MOST_OVERHAULS = 6
"""Most engine overhauls looked at over the years of a fund."""


@dataclass(frozen=True)
class Agreement:
    """Who pays what in a partnership, replication by replication.

    `billed`: without the deductible; `bills`: with what a year is expected to bring of it. `clock`: hours by member on
    the clock the rate is counted by, (r, m); `days_held` likewise.
    """

    sharing: Sharing
    billed: Bills
    bills: Bills
    clock: Array
    days_held: Array
    flight_hours: Array
    deductible: Deductible
    terms: DuesTerms
    paid: Payments


def agreement_of(study: Study, sums: Sums) -> Agreement:
    """Return what the members of a study agreed to and what that comes to."""
    spec = study.spec.members
    sharing = Sharing() if spec is None else spec.sharing
    deductible = deductible_of(study.assumptions, sharing)
    billed, clock = bills_and_clock(sums, sharing, study.assumptions)
    hours, days = sums["flight_hours"], sums["days_held"]
    bills = deductible.laid_on(billed, hours)
    terms = covering_terms(bills, clock, sharing.dues_usd_per_month, sharing.hourly_usd, days, sharing.by)
    return Agreement(sharing, billed, bills, clock, days, hours, deductible, terms,
                     payments(bills, clock, terms, days))


def deductible_of(assumptions: Assumptions, sharing: Sharing) -> Deductible:
    """Return the insurance deductible as the group shares it."""
    return Deductible(assumptions["insurance.deductible_usd"], assumptions["insurance.claims_per_1000_h"] / 1000.0,
                      assumptions["insurance.parked_claims_per_year"], sharing.deductible == "flyer")


def bills_and_clock(sums: Sums, sharing: Sharing, assumptions: Assumptions) -> tuple[Bills, Array]:
    """Return the bills of all replications, and hours by member on the clock the rate is counted by."""
    bills = Bills(sums["fixed_cents"], sums["hourly_cents"], sums["own_cents"], sums["reserve_cents"])
    if sharing.clock == "block_hours":
        return bills, sums["block_hours"]
    ratio = assumptions["sharing.tach_ratio"] if sharing.clock == "tach_hours" else 1.0
    return bills, sums["flight_hours"] * ratio


def fund_of(study: Study, cost: CostProfile, agreed: Agreement) -> FundPaths:
    """Return the fund over the years, one path a replication.

    A path strings together years of different replications, each replication once in every year; engines start with
    the hours of the listing and come to their overhaul by condition; claims for damage come by chance, and the fund
    pays the deductible of those that are not the flyer's. Dollars of the first year throughout.
    """
    a = study.assumptions.replaced({"ownership.overhaul_drift_share": 0.0})
    years = agreed.sharing.fund_years or int(a["sharing.fund_years"])
    hours, deductible, terms = agreed.flight_hours.sum(axis=1), agreed.deductible, agreed.terms
    count = len(hours)
    random = generator(study.seed, 0, Stream.ENGINE)
    order = np.stack([random.permutation(count) for _ in range(years)], axis=1)
    draws = uniform_draws(cost, random.random((count, 2 * MOST_OVERHAULS + 2)))
    due = overhauls(cost, hours[order], draws, a)
    shared_h = np.zeros(order.shape) if deductible.by_flyer else hours[order]
    claims = generator(study.seed, 0, Stream.CLAIMS).poisson(deductible.claims(shared_h))
    spent = (agreed.billed.group_cents[order] / 100.0 + due.engine_usd + due.propeller_usd + due.turbo_usd
             + deductible.usd * claims)
    dues = 12.0 * terms.dues_usd_per_month * agreed.billed.own_cents.shape[1]
    use, rate_usd = (agreed.days_held, terms.daily_usd) if terms.daily_usd else (agreed.clock, terms.hourly_usd)
    return fund_paths(agreed.sharing.fund_usd, dues, spent, use.sum(axis=1)[order], rate_usd)


def fund_entry(paths: FundPaths, agreed: Agreement, assumptions: Assumptions) -> dict[str, Any]:
    """Return what is told of the fund: terms, the rate at which it holds, chance and size of an assessment, claims."""
    members, terms, deductible = agreed.billed.own_cents.shape[1], agreed.terms, agreed.deductible
    short: Array = np.asarray((paths.assessment_usd > 0.0).any(axis=1), dtype=np.float64)
    sizes = paths.assessment_usd[paths.assessment_usd > 0.0] / members
    share = assumptions["sharing.fund_confidence_share"]
    return {
        "years": paths.balance_usd.shape[1], "dues_usd_per_month": terms.dues_usd_per_month,
        "hourly_usd": terms.hourly_usd, "daily_usd": terms.daily_usd,
        "rate_per": "day held" if terms.daily_usd else "hour",
        "break_even_rate_usd": quantile_measure(paths.least_rate_usd, share),
        "break_even_confidence_share": share,
        "assessment_chance": share_measure(short, np.ones(short.shape)),
        "assessment_usd": _positive(measure(sizes)),
        "assessments": measure((paths.assessment_usd > 0.0).sum(axis=1).astype(float)),
        "balance_by_year": [measure(paths.balance_usd[:, y]) for y in range(paths.balance_usd.shape[1])],
        "deductible": {"usd": deductible.usd, "paid_by": agreed.sharing.deductible,
                       "claims_a_year": measure(deductible.claims(agreed.flight_hours.sum(axis=1)))},
    }


def _positive(found: Measure) -> Measure:
    """Keep the interval of a sum of money that cannot be negative above 0."""
    return {name: None if v is None else max(v, 0.0) for name, v in found.items()}


def quantile_measure(values: Array, share: float) -> Measure:
    """Return a quantile with its 95 % interval from order statistics (binomial, normal approximation).

    References
    ----------
    .. [1] W. J. Conover, Practical Nonparametric Statistics, confidence interval for a quantile (from memory).
    """
    finite = np.sort(np.where(np.isfinite(values), values, np.nan))
    finite = finite[np.isfinite(finite)]
    if not len(finite):
        return {"mean": None, "low": None, "high": None}
    n = len(finite)
    spread = 1.96 * np.sqrt(n * share * (1.0 - share))
    low, high = int(np.floor(n * share - spread)), int(np.ceil(n * share + spread))
    ends = (None, None) if low < 1 or high > n else (float(finite[low - 1]), float(finite[high - 1]))
    return {"mean": float(np.quantile(finite, share)), "low": ends[0], "high": ends[1]}
