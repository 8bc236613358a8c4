"""Finished partnerships: measures with intervals by size and member, who pays what, and whether the fund holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.money.categories import CATEGORIES, CODE, OUTSIDE, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.cost_sharing import (
    Bills,
    DuesTerms,
    FundPaths,
    Payments,
    covering_terms,
    fund_paths,
    payments,
    split,
)
from missionsim.money.insurance import quote
from missionsim.money.overhauls import overhauls, uniform_draws
from missionsim.money.ownership_cash import Ownership
from missionsim.statistics.intervals import measure, ratio_measure
from missionsim.study.inputs.load_members import MemberTrips
from missionsim.study.inputs.load_study import Study
from missionsim.study.inputs.schema_sharing import Sharing
from missionsim.study.shared_use.equity import best_size, capital_rows, into_the_fund_usd, leaving
from missionsim.study.shared_use.owned import columns_usd, draws_of, owned_by_group
from missionsim.study.shared_use.partners import Partnership, PartnersSums
from missionsim.study.shared_use.result import (
    NOT_PRINTED,
    Measure,
    SharedResult,
    mean_reasons,
    result_of,
    share_measure,
)
from missionsim.study.shared_use.sums import LEADS_H, Sums, experience_of, least_experience
from missionsim.study.shared_use.years import Progress

Array = NDArray[Any]
OVERHAULS = 6
"""Most engine overhauls looked at over the years of a fund."""
WEEKEND_SIZES = (2, 3, 4, 5)


@dataclass(frozen=True)
class CandidatePartners:
    """One candidate of a finished partnership study; every entry is ready for a table or for JSON."""

    name: str
    sizes: tuple[Mapping[str, Any], ...]
    members: tuple[Mapping[str, Any], ...]
    fund: Mapping[str, Any]
    fairness: Mapping[str, Any]
    rules: Mapping[str, Mapping[str, Any]]
    weekends: tuple[Mapping[str, Any], ...]
    leave_earlier: tuple[Mapping[str, Any], ...]
    insurance: Mapping[str, Any]
    best_size: Mapping[str, Any]
    leaving: tuple[Mapping[str, Any], ...]
    into_the_fund_usd: Measure
    terms: DuesTerms = field(metadata=NOT_PRINTED)
    sums: PartnersSums = field(metadata=NOT_PRINTED)


PartnersResult = SharedResult[Partnership, CandidatePartners]


def partners(partnership: Partnership, replications: int | None = None, workers: int = 1,
             progress: Progress | None = None) -> PartnersResult:
    """Fly a partnership with every candidate in every size; parameters as of `result_of`."""
    return result_of(partnership, candidate_partners, replications, workers, progress)


def candidate_partners(partnership: Partnership, number: int, sums: PartnersSums) -> CandidatePartners:
    """Return what is told of one candidate."""
    study, entrant = partnership.study, partnership.group.alike[0].prepared.entrants[number]
    draws = draws_of(entrant, len(sums.slip["slip_trips"]))
    spec = study.spec.members
    sharing = Sharing() if spec is None else spec.sharing
    bills, clock = bills_and_clock(sums.members, sharing, study.assumptions)
    terms = covering_terms(bills, clock, sharing.dues_usd_per_month, sharing.hourly_usd)
    cost = entrant.flyer.cost
    hours = sums.members["flight_hours"].sum(axis=1)
    paths = fund_of(study, cost, bills, clock, hours, terms, sharing)
    sizes = tuple(_size(n, own, owned_by_group(entrant, own["cash_cents"], own["flight_hours"], draws))
                  for n, own in sums.sizes.items())
    after, paid = int(study.assumptions["sharing.leaves_after_years"]), payments(bills, clock, terms)
    group, shorter = (owned_by_group(entrant, sums.members["cash_cents"], hours, draws, years=years)
                      for years in (None, after))
    headline = columns_usd(group, frozenset(CATEGORIES) - OUTSIDE)
    training = sums.members["cash_cents"][:, CODE[Category.TRAINING]] / 100.0
    capital = zip(_members(study, sums.members, bills, clock, paid), capital_rows(study, group, paid),
                  study.members, strict=True)
    return CandidatePartners(
        entrant.flyer.candidate.name, sizes, tuple(row | more | {"insurance": _asked_of(study, cost, [member])}
                                for row, more, member in capital),
        _fund(paths, terms, bills.own_cents.shape[1], study.assumptions), _fairness(sums.members),
        {name: _rule(study, own) for name, own in sums.rules.items()}, tuple(_weekends(study, sums)),
        tuple(_leave_earlier(sums.slip)), _asked_of(study, cost, study.members),
        best_size(sizes), tuple(leaving(study, shorter, terms.dues_usd_per_month, after)),
        measure(into_the_fund_usd(group, paid, headline, training)), terms, sums)


def _asked_of(study: Study, cost: CostProfile, members: Sequence[MemberTrips]) -> dict[str, Any]:
    """Return what an insurer asks of some members in the group as written: the least experienced counts."""
    pilots = [experience_of(study, member.pilot, cost.name) for member in members]
    return quote(cost, least_experience(pilots), study.assumptions, owners=len(study.members)).entry


def _size(members: int, sums: Sums, owned: Ownership) -> dict[str, Any]:
    """Return one row of the table of sizes. What a member pays for training is each pilot's own."""
    whole = columns_usd(owned, frozenset(CATEGORIES) - OUTSIDE)
    training = sums["training_cents"] / 100.0
    cost = (whole - training) / members + training
    net = cost + columns_usd(owned, OUTSIDE) / members
    row: dict[str, Any] = {"members": members, "cost_per_member_usd": measure(cost),
                           "net_cost_per_member_usd": measure(net)}
    row |= {name: share_measure(sums[top], sums["wanted"]) for name, top in (
        ("booked_out_share", "lost"), ("met_booked_share", "met"), ("moved_share", "moved"), ("flown_share", "flown"))}
    row["flight_hours"] = measure(sums["flight_hours"])
    row["cost_per_hour_usd"] = ratio_measure(whole, sums["flight_hours"])
    row["wanted"] = measure(sums["wanted"])
    row["refused"] = mean_reasons(sums["refused"])
    return row


def bills_and_clock(sums: Sums, sharing: Sharing, assumptions: Assumptions) -> tuple[Bills, Array]:
    """Return the bills of all replications, and hours by member on the clock the rate is counted by."""
    bills = Bills(sums["fixed_cents"], sums["hourly_cents"], sums["own_cents"], sums["reserve_cents"])
    if sharing.clock == "block_hours":
        return bills, sums["block_hours"]
    ratio = assumptions["sharing.tach_ratio"] if sharing.clock == "tach_hours" else 1.0
    return bills, sums["flight_hours"] * ratio


def _members(study: Study, sums: Sums, bills: Bills, clock: Array, paid: Payments) -> list[dict[str, Any]]:
    splits = split(bills, sums["flight_hours"], sums["days_held"])
    weekend_days = 104.0
    rows = []
    for m, member in enumerate(study.members):
        row: dict[str, Any] = {"name": member.name}
        row |= {name: measure(sums[name][:, m]) for name in ("wanted", "booked", "moved", "flown", "cancelled")}
        row["booked_out_share"] = share_measure(sums["lost"][:, m], sums["wanted"][:, m])
        row["met_booked_share"] = share_measure(sums["met"][:, m], sums["wanted"][:, m])
        row["hours"] = measure(sums["flight_hours"][:, m])
        row["days_held"] = measure(sums["days_held"][:, m])
        row["weekend_days_share"] = measure(sums["weekend_days"][:, m] / weekend_days)
        row["refused"] = mean_reasons(sums["refused"][:, m])
        row["paid_usd"] = measure(paid.paid_cents[:, m] / 100.0)
        row["paid_of"] = {"dues_usd": measure(paid.dues_cents[:, m] / 100.0),
                          "hourly_usd": measure(paid.hourly_cents[:, m] / 100.0),
                          "own_usd": measure(paid.own_cents[:, m] / 100.0)}
        row["paid_under"] = {name: measure(cents[:, m] / 100.0) for name, cents in splits.items()}
        rows.append(row)
    return rows


def fund_of(study: Study, cost: CostProfile, bills: Bills, clock: Array, flight_hours: Array, terms: DuesTerms,
            sharing: Sharing) -> FundPaths:
    """Return the fund over the years, one path a replication.

    A path strings together years of different replications, each replication once in every year; engines start with
    the hours of the listing and come to their overhaul by condition. Dollars of the first year throughout.

    Parameters
    ----------
    study : Study
    cost : CostProfile          What its costs depend on.
    bills : Bills               Paid by the fund and by members.
    clock : (r, member) array   Hours charged for.
    flight_hours : (r,) array   Flown a year.
    terms : DuesTerms           Dues and hourly rate.
    sharing : Sharing           Who pays what.
    """
    a = study.assumptions.replaced({"ownership.overhaul_drift_share": 0.0})
    years = sharing.fund_years or int(a["sharing.fund_years"])
    count = len(flight_hours)
    random = generator(study.seed, 0, Stream.ENGINE)
    order = np.stack([random.permutation(count) for _ in range(years)], axis=1)
    draws = uniform_draws(cost, random.random((count, 2 * OVERHAULS + 2)))
    due = overhauls(cost, flight_hours[order], draws, a)
    spent = bills.group_cents[order] / 100.0 + due.engine_usd + due.propeller_usd + due.turbo_usd
    dues = 12.0 * terms.dues_usd_per_month * bills.own_cents.shape[1]
    return fund_paths(sharing.fund_usd, dues, spent, clock.sum(axis=1)[order], terms.hourly_usd)


def _fund(paths: FundPaths, terms: DuesTerms, members: int, assumptions: Assumptions) -> dict[str, Any]:
    short: Array = np.asarray((paths.assessment_usd > 0.0).any(axis=1), dtype=np.float64)
    sizes = paths.assessment_usd[paths.assessment_usd > 0.0] / members
    share = assumptions["sharing.fund_confidence_share"]
    return {
        "years": paths.balance_usd.shape[1], "dues_usd_per_month": terms.dues_usd_per_month,
        "hourly_usd": terms.hourly_usd, "break_even_rate_usd": quantile_measure(paths.least_rate_usd, share),
        "break_even_confidence_share": share,
        "assessment_chance": share_measure(short, np.ones(short.shape)),
        "assessment_usd": _positive(measure(sizes)),
        "assessments": measure((paths.assessment_usd > 0.0).sum(axis=1).astype(float)),
        "balance_by_year": [measure(paths.balance_usd[:, y]) for y in range(paths.balance_usd.shape[1])],
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


def _fairness(sums: Sums) -> dict[str, Any]:
    """Return how unequally the members are booked out: highest less lowest share over all years, and their spread."""
    lost, wanted = sums["lost"].sum(axis=0), sums["wanted"].sum(axis=0)
    share = lost / np.maximum(wanted, 1.0)
    return {"booked_out_range_share": float(share.max() - share.min()), "booked_out_spread_share": float(share.std())}


def _rule(study: Study, sums: Sums) -> dict[str, Any]:
    by_member = {m.name: share_measure(sums["lost"][:, i], sums["wanted"][:, i]) for i, m in enumerate(study.members)}
    return {"booked_out_share": share_measure(sums["lost"].sum(axis=1), sums["wanted"].sum(axis=1)),
            "members": by_member, "fairness": _fairness(sums)}


def _weekends(study: Study, sums: PartnersSums) -> list[dict[str, Any]]:
    """Return, for groups of two to five, weekend requests that met a booking and were lost, beside the plain formula.

    The formula takes members to hold days independently of one another: 1 - (1 - u) to the power of the others.
    """
    entry = study.assumptions.entry("sharing.weekend_held_share")
    lost = study.assumptions.entry("sharing.lost_of_blocked_share")
    rows = []
    for n in (size for size in WEEKEND_SIZES if size in sums.sizes):
        own = sums.sizes[n]
        held = own["weekend_days_held"].sum() / (104.0 * n * len(own["wanted"]))
        usual = {name: 1.0 - (1.0 - u) ** (n - 1) for name, u in (("low", entry.low), ("likely", entry.value),
                                                                  ("high", entry.high))}
        rows.append({
            "members": n, "met_booked_share": share_measure(own["weekend_met"], own["weekend_wanted"]),
            "lost_share": share_measure(own["weekend_lost"], own["weekend_wanted"]), "held_share": float(held),
            "formula_share": float(1.0 - (1.0 - held) ** (n - 1)), "usual_met_share": usual,
            "usual_lost_share": {"low": usual["low"] * lost.low, "likely": usual["likely"] * lost.value,
                                 "high": usual["high"] * lost.high}})
    return rows


def _leave_earlier(slip: Sums) -> list[dict[str, Any]]:
    """Return the chance that weather lets a must-go trip leave by plan, or at the latest so many hours before it."""
    longest = float(slip["slip_longest_h"].max(initial=0.0))
    return [{"lead_h": lead, "goes_share": share_measure(slip["slip_go"][:, i], slip["slip_trips"])}
            for i, lead in enumerate(LEADS_H) if lead <= longest]

