"""Finished partnerships: measures with intervals by size and member, who pays what, and whether the fund holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from operator import itemgetter
from typing import Any, NamedTuple

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.parallel import Progress
from missionsim.money.categories import CATEGORIES, CODE, OUTSIDE, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.cost_sharing import DuesTerms, split
from missionsim.money.insurance import quote
from missionsim.money.overhauls import OwnershipDraws
from missionsim.money.ownership_cash import Ownership
from missionsim.statistics.intervals import Measure, measure, ratio_measure, within
from missionsim.study.inputs.load_members import MemberTrips
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.study import Entrant
from missionsim.study.shared_use.as_written import WrittenIn, borne, none_per_member_usd
from missionsim.study.shared_use.equity import (
    Leaving,
    bears_usd,
    best_size,
    capital_rows,
    into_the_fund_usd,
    leaving,
    shortfall_usd,
)
from missionsim.study.shared_use.fund import Agreement, agreement_of, fund_entry, fund_of
from missionsim.study.shared_use.no_aircraft import against_none, none_net_usd
from missionsim.study.shared_use.owned import columns_usd, draws_of, owned_by_group
from missionsim.study.shared_use.partners import Partnership, PartnersSums, taking_part
from missionsim.study.shared_use.result import (
    NOT_PRINTED,
    SharedResult,
    count_measure,
    mean_reasons,
    result_of,
    share_measure,
)
from missionsim.study.shared_use.sums import LEADS_H, TRAVEL, Sums, experience_of, least_experience

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
    best_size_for_written: Mapping[str, Any]
    leaving: tuple[Mapping[str, Any], ...]
    into_the_fund_usd: Measure
    together: Mapping[str, Any]
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
    draws, cost = draws_of(entrant, len(sums.slip["slip_trips"])), entrant.flyer.cost
    agreed = agreement_of(study, sums.members)
    fund = fund_of(study, cost, agreed)
    owned = {n: owned_by_group(entrant, own["cash_cents"], own["flight_hours"], draws) for n, own in sums.sizes.items()}
    costs = {n: SizeCosts(n, sums.sizes[n], owned[n], agreed) for n in owned}
    after = int(study.assumptions["sharing.leaves_after_years"])
    group, shorter = (owned_by_group(entrant, sums.members["cash_cents"], agreed.flight_hours.sum(axis=1), draws,
                                     years=years) for years in (None, after))
    insured, alone = _asked_of(study, cost, study.members), [_insured(study, cost, m) for m in study.members]
    then = Leaving(shorter, after, float(fund.balance_usd[:, min(after, fund.balance_usd.shape[1]) - 1].mean()),
                   agreed.terms.dues_usd_per_month, insured["premium_usd"],
                   tuple(row["premium_without_usd"] for row in alone))
    capital = capital_rows(study, group, agreed.paid, agreed.sharing.fund_usd)
    into = _into_the_fund(sums.members, group, agreed)
    value = entrant.prepared.prices.value_of_time_usd_per_h
    written = _written_in(sums, entrant, draws, agreed, value)
    none_usd = none_per_member_usd(sums.members, value)
    held = _held_against_none(study, sums.members, group, agreed, into, value)
    members = zip(_members(study, sums.members, agreed), capital, alone, held.members, strict=True)
    return CandidatePartners(
        entrant.flyer.candidate.name,
        tuple(_size(n, own, costs[n]) | _size_without(n, own, costs[n], value) | written[n].entry(none_usd)
              for n, own in sums.sizes.items()),
        tuple(row | more | {"insurance": asked} | against for row, more, asked, against in members),
        fund_entry(fund, agreed, study.assumptions), _fairness(sums.members),
        {name: _rule(study, own) for name, own in sums.rules.items()}, tuple(_weekends(study, sums)),
        tuple(_leave_earlier(sums.slip)), insured,
        best_size({n: c.net_usd for n, c in costs.items()}, len(study.members)),
        best_size({n: written[n].net_usd for n in costs}, len(study.members), written[len(study.members)].net_usd),
        tuple(leaving(study, then)), measure(into), held.together, agreed.terms, sums)


def _written_in(sums: PartnersSums, entrant: Entrant, draws: OwnershipDraws, agreed: Agreement, value: float,
                ) -> dict[int, WrittenIn]:
    """Return the study's own members in every size, that of the group as written among them."""
    members, count = sums.members["flight_hours"].shape[1], len(sums.members["flight_hours"])
    found = {}
    for n, own in sums.people.items():
        cash = sums.sizes[n]["cash_cents"] if n in sums.sizes else sums.members["cash_cents"]
        owned = owned_by_group(entrant, cash, own["flight_hours"].sum(axis=1), draws)
        found[n] = borne(own, owned, agreed.sharing, agreed.deductible, value)
    return {n: WrittenIn.of(each, found[members], np.array([taking_part(n, members, r) for r in range(count)]))
            for n, each in found.items()}


def _into_the_fund(sums: Sums, group: Ownership, agreed: Agreement) -> Array:
    """Return what members pay in a year beyond what the group's year costs, the deductible in it."""
    headline = columns_usd(group, frozenset(CATEGORIES) - OUTSIDE) + agreed.deductible.yearly_usd(agreed.flight_hours)
    return into_the_fund_usd(group, agreed.paid, headline, sums["cash_cents"][:, CODE[Category.TRAINING]] / 100.0)


class HeldAgainstNone(NamedTuple):
    """A partnership against having no aircraft: all members together, and each."""

    together: dict[str, Any]
    members: tuple[dict[str, Any], ...]


def _held_against_none(study: Study, sums: Sums, group: Ownership, agreed: Agreement, into_usd: Array, value: float,
                       ) -> HeldAgainstNone:
    shortfall = shortfall_usd(study, into_usd)
    bears = bears_usd(study, group, agreed.paid, shortfall)
    travel = {name: sums[name] for name in TRAVEL}

    def held(of: Callable[[Array], Array]) -> dict[str, Any]:
        return {"of_shortfall_usd": measure(of(shortfall))} | against_none(
            of(bears), {name: of(values) for name, values in travel.items()}, value)

    return HeldAgainstNone(held(lambda values: np.asarray(values.sum(axis=1))),
                           tuple(held(itemgetter((slice(None), m))) for m in range(len(study.members))))


def _size_without(members: int, sums: Sums, costs: SizeCosts, value: float) -> dict[str, Any]:
    """Return what the same trips cost a member without any aircraft, and what the share of such a group costs more."""
    none = none_net_usd(sums, value) / members
    return {"none_net_cost_per_member_usd": measure(none),
            "more_than_none_per_member_usd": measure(costs.net_usd - none)}


def _asked_of(study: Study, cost: CostProfile, members: Sequence[MemberTrips], owners: int | None = None,
              ) -> dict[str, Any]:
    """Return what an insurer asks of some members in the group as written: the least experienced counts."""
    pilots = [experience_of(study, member.pilot, cost.name) for member in members]
    return quote(cost, least_experience(pilots), study.assumptions, owners=owners or len(study.members)).entry


def _insured(study: Study, cost: CostProfile, member: MemberTrips) -> dict[str, Any]:
    """Return what an insurer asks if all in the group were like one member, and of the group without that one."""
    rest = [other for other in study.members if other is not member]
    without = _asked_of(study, cost, rest, len(rest))["premium_usd"] if rest else None
    return _asked_of(study, cost, [member]) | {"rating": member.pilot.rating, "premium_without_usd": without}


class SizeCosts:
    """What a year costs a group of some size and each in it, dollars by replication; training is each one's own.

    `together_usd`: all members' cost; `net_usd`: a member's cost with the part of what the trips not flown cost the
    group otherwise.
    """

    def __init__(self, members: int, sums: Sums, owned: Ownership, agreed: Agreement) -> None:
        self.whole_usd = columns_usd(owned, frozenset(CATEGORIES) - OUTSIDE) + agreed.deductible.yearly_usd(
            sums["flight_hours"])
        training = sums["training_cents"] / 100.0
        self.cost_usd = (self.whole_usd - training) / members + training
        self.together_usd = members * self.cost_usd
        self.net_usd = self.cost_usd + columns_usd(owned, OUTSIDE) / members


def _size(members: int, sums: Sums, costs: SizeCosts) -> dict[str, Any]:
    """Return one row of the table of sizes."""
    row: dict[str, Any] = {"members": members, "cost_per_member_usd": measure(costs.cost_usd),
                           "net_cost_per_member_usd": measure(costs.net_usd)}
    row |= {name: share_measure(sums[top], sums["wanted"]) for name, top in (
        ("booked_out_share", "lost"), ("met_booked_share", "met"), ("moved_share", "moved"), ("flown_share", "flown"))}
    row["flight_hours"] = count_measure(sums["flight_hours"])
    row["cost_per_hour_usd"] = ratio_measure(costs.together_usd, sums["flight_hours"])
    row["wanted"] = count_measure(sums["wanted"])
    row["refused"] = mean_reasons(sums["refused"])
    return row


def _members(study: Study, sums: Sums, agreed: Agreement) -> list[dict[str, Any]]:
    splits, paid = split(agreed.bills, agreed.flight_hours, agreed.days_held), agreed.paid
    weekend_days = 104.0
    rows = []
    for m, member in enumerate(study.members):
        row: dict[str, Any] = {"name": member.name}
        row |= {name: count_measure(sums[name][:, m]) for name in ("wanted", "booked", "moved", "flown", "cancelled")}
        row["booked_out_share"] = share_measure(sums["lost"][:, m], sums["wanted"][:, m])
        row["met_booked_share"] = share_measure(sums["met"][:, m], sums["wanted"][:, m])
        row["hours"] = count_measure(sums["flight_hours"][:, m])
        row["days_held"] = count_measure(sums["days_held"][:, m])
        row["weekend_days_share"] = within(measure(sums["weekend_days"][:, m] / weekend_days), 0.0, 1.0)
        row["refused"] = mean_reasons(sums["refused"][:, m])
        row["paid_usd"] = measure(paid.paid_cents[:, m] / 100.0)
        row["paid_of"] = {"dues_usd": measure(paid.dues_cents[:, m] / 100.0),
                          "hourly_usd": measure(paid.hourly_cents[:, m] / 100.0),
                          "daily_usd": measure(paid.daily_cents[:, m] / 100.0),
                          "own_usd": measure(paid.own_cents[:, m] / 100.0)}
        row["paid_under"] = {name: measure(cents[:, m] / 100.0) for name, cents in splits.items()}
        rows.append(row)
    return rows


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
        held = own["weekend_days"].sum() / (104.0 * n * len(own["wanted"]))
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

