"""Capital of a partnership: what each member buys in with, what that share costs a year, and what leaving does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.money.categories import CATEGORIES, CODE, ONCE, OVERHAULS, Category
from missionsim.money.cost_sharing import Payments
from missionsim.money.ownership_cash import Ownership
from missionsim.statistics.intervals import measure
from missionsim.study.inputs.load_study import Study

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


def capital_rows(study: Study, owned: Ownership, payments: Payments, fund_usd: float = 0.0) -> list[dict[str, Any]]:
    """Return by member: equity, buy-in, the year's cost of it, and that with all the member pays in the year.

    Parameters
    ----------
    study : Study
    owned : Ownership
    payments : Payments
    fund_usd : float      Paid into the fund at the start, by equity.
    """
    rows, once, yearly = [], buy_in_usd(owned), owning_usd(owned)
    for m, share in enumerate(equity_of(study)):
        paid = payments.paid_cents[:, m] / 100.0
        rows.append({"equity_share": float(share), "buy_in_usd": measure(share * once),
                     "into_fund_at_start_usd": float(share * fund_usd),
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


def shortfall_usd(study: Study, into_usd: Array) -> Array:
    """Return what each member bears of what the fund lacks, (r, m); below zero where it gathers money.

    What is missing sooner or later is asked of all alike; what gathers belongs to the members by equity.

    Parameters
    ----------
    into_usd : (r,) array    What stays in the fund of a year's payments, below zero what is missing there.
    """
    equity = equity_of(study)
    part = np.full(len(equity), 1.0 / len(equity)) if into_usd.mean() < 0.0 else equity
    return np.asarray(-into_usd[:, None] * part)


def bears_usd(study: Study, owned: Ownership, payments: Payments, shortfall: Array) -> Array:
    """Return all that each member bears of the aircraft in a year, (r, m): payments, equity's part and the shortfall's.

    Parameters
    ----------
    shortfall : (r, m) array    Of the fund, by member. [usd]
    """
    return np.asarray(payments.paid_cents / 100.0 + owning_usd(owned)[:, None] * equity_of(study) + shortfall)


@dataclass(frozen=True)
class Leaving:
    """What is known when a member leaves at the end of a year.

    `shorter`: the ownership, sold then. `fund_usd`: in the fund then, in the mean. `premium_usd`: of the whole group,
    and [member] of the rest when that one has left; None where nobody is left.
    """

    shorter: Ownership
    after_years: int
    fund_usd: float
    dues_usd_per_month: float
    premium_usd: float
    premium_without_usd: tuple[float | None, ...]


def leaving(study: Study, then: Leaving) -> list[dict[str, Any]]:
    """Return what happens if a member leaves: what the share is bought out at, and what the rest pay then.

    A share is its part of what the aircraft would sell for, less what a buyer wants off, and of the fund. The rest buy
    it by their own shares; the dues of the leaving member fall on them, at the insurer's price for the smaller group.
    """
    a, equity = study.assumptions, equity_of(study)
    count, dues = len(equity), then.dues_usd_per_month
    value = measure(-then.shorter.cash_cents[:, -1, CODE[Category.RESALE]] / 100.0)["mean"] or 0.0
    rows = []
    for m, member in enumerate(study.members):
        fund, price = equity[m] * then.fund_usd, equity[m] * value * a["sharing.buy_out_share"]
        rest, without = [k for k in range(count) if k != m], then.premium_without_usd[m]
        saved = 0.0 if without is None or dues <= 0.0 else then.premium_usd - without
        rows.append({
            "member": member.name, "after_years": then.after_years, "exit_usd": float(price + fund),
            "of_it_fund_usd": float(fund),
            "others_pay_usd": {study.members[k].name: float((price + fund) * equity[k] / equity[rest].sum())
                               for k in rest},
            "dues_usd_per_month": (12.0 * count * dues - saved) / (12.0 * (count - 1)) if rest else dues,
            "weeks_to_sell": float(a["sharing.weeks_to_sell"]),
            "dues_until_sold_usd": float(12.0 * dues * a["sharing.weeks_to_sell"] / 52.0)})
    return rows


def best_size(nets_usd: Mapping[int, Array], written: int, as_written_usd: Array | None = None) -> dict[str, Any]:
    """Return the size that costs a member least, lost trips counted at what they cost otherwise, and how sure that is.

    Parameters
    ----------
    nets_usd : mapping   By size, such a cost of a member by replication, the same years in every size.
    written : int        Members of the group as written.
    as_written_usd : (r,) array, optional    Its cost, where that size need not be among those looked at.

    Returns
    -------
    dict                 `difference_usd`: of each other size to the best, paired; `level_with`: sizes whose difference
                         may be chance; `than_written_usd`: of each other size to the group as written.
    """
    mean = {n: float(net.mean()) for n, net in nets_usd.items()}
    best = min(mean, key=lambda n: mean[n])

    def to(size: int, base: Array) -> dict[int, dict[str, float | None]]:
        return {n: measure(net - base) for n, net in nets_usd.items() if n != size}

    more, base = to(best, nets_usd[best]), nets_usd.get(written, as_written_usd)
    return {"members": best, "net_cost_per_member_usd": mean, "difference_usd": more,
            "level_with": [n for n, m in more.items() if m["low"] is None or m["low"] <= 0.0],
            "than_written_usd": {} if base is None else to(written, base)}
