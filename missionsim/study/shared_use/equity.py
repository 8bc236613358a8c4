"""Capital of a partnership: what each member buys in with, what that share costs a year, and what leaving does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.money.categories import CATEGORIES, CODE, ONCE, OVERHAULS, Category
from missionsim.money.cost_sharing import Payments
from missionsim.money.ownership_cash import Ownership
from missionsim.statistics.intervals import measure
from missionsim.study.inputs.load_study import Study

Array = NDArray[Any]
OWNING = frozenset((ONCE - OVERHAULS) | {Category.TAX})
"""Paid with the purchase, lost on sale or foregone: borne by equity, not by dues; TAX only as far as it is no bill."""


def equity_of(study: Study) -> Array:
    """Return the equity share of each member, (m,); equal where the study gives none."""
    given = [member.spec.equity_share for member in study.members]
    if any(share is None for share in given):
        return np.full(len(given), 1.0 / len(given))
    return np.array(given, dtype=np.float64)


def buy_in_usd(owned: Ownership) -> Array:
    """Return what all members pay together on the day of purchase, each pilot's instruction apart, by replication."""
    rows = [CODE[c] for c in CATEGORIES if c is not Category.TRAINING]
    return np.asarray(owned.cash_cents[:, 0, rows].sum(axis=1) / 100.0)


def owning_usd(owned: Ownership) -> Array:
    """Return what a year bears of the purchase, the sale and the money tied up, by replication."""
    year = owned.year_cents[:, sorted(CODE[c] for c in OWNING)].sum(axis=1) / 100.0
    bills = owned.records.cash_cents[:, 0, CODE[Category.TAX]] / 100.0
    return np.asarray(year - bills)


def capital_rows(study: Study, owned: Ownership, payments: Payments) -> list[dict[str, Any]]:
    """Return by member: equity, buy-in, the year's cost of it, and that with all the member pays in the year."""
    rows, once, yearly = [], buy_in_usd(owned), owning_usd(owned)
    for m, share in enumerate(equity_of(study)):
        paid = payments.paid_cents[:, m] / 100.0
        rows.append({"equity_share": float(share), "buy_in_usd": measure(share * once),
                     "owning_usd": measure(share * yearly), "all_in_usd": measure(paid + share * yearly)})
    return rows


def into_the_fund_usd(owned: Ownership, payments: Payments, headline_usd: Array, training_usd: Array) -> Array:
    """Return what members pay in a year beyond what the group's year costs: it stays in the fund, or is missing there.

    Parameters
    ----------
    headline_usd : (r,) array    The group's own cost of a year, one pilot's training in it.
    training_usd : (r,) array    Of one pilot; every member pays as much.
    """
    members = payments.paid_cents.shape[1]
    paid = payments.paid_cents.sum(axis=1) / 100.0 + owning_usd(owned)
    return np.asarray(paid - headline_usd - (members - 1) * training_usd)


def leaving(study: Study, shorter: Ownership, dues_usd_per_month: float, after_years: int) -> list[dict[str, Any]]:
    """Return what happens if a member leaves: what the share is bought out at, and what the rest pay then.

    Parameters
    ----------
    shorter : Ownership    Sold at the end of the year in which the member leaves.
    """
    a, equity = study.assumptions, equity_of(study)
    count = len(equity)
    value = measure(-shorter.cash_cents[:, -1, CODE[Category.RESALE]] / 100.0)["mean"] or 0.0
    rows = []
    for m, member in enumerate(study.members):
        price = equity[m] * value * a["sharing.buy_out_share"]
        rest = [k for k in range(count) if k != m]
        rows.append({
            "member": member.name, "after_years": after_years, "exit_usd": float(price),
            "others_pay_usd": {study.members[k].name: float(price * equity[k] / equity[rest].sum()) for k in rest},
            "dues_usd_per_month": dues_usd_per_month * count / (count - 1) if count > 1 else dues_usd_per_month,
            "weeks_to_sell": float(a["sharing.weeks_to_sell"])})
    return rows


def best_size(sizes: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Return the size that costs a member least, lost trips counted at what they cost otherwise, and all costs."""
    best = min(sizes, key=lambda row: row["net_cost_per_member_usd"]["mean"])
    return {"members": best["members"],
            "net_cost_per_member_usd": {row["members"]: row["net_cost_per_member_usd"]["mean"] for row in sizes}}


__all__ = ["OWNING", "best_size", "buy_in_usd", "capital_rows", "equity_of", "into_the_fund_usd", "leaving",
           "owning_usd"]
