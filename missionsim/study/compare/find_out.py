"""What to find out before choosing, from whom, and what an answer is worth: open figures and prices nobody gave."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.statistics.information_value import Question
from missionsim.statistics.intervals import exact_mean
from missionsim.study.compare.price_draws import AIRLINE, CAR, Priced, of_market, value_of_knowing
from missionsim.study.compare.recost import Recosted

MOST_BUDGET = 5
"""How many figures and prices stand under `for your budget`."""
WHO: tuple[tuple[str, str], ...] = (
    ("insurance.", "insurer"), ("cost.hangar", "landlord"), ("cost.tie_down", "landlord"),
    ("maintenance.", "shop"), ("engine_life.", "shop"), ("ownership.loan", "lender"),
    ("ownership.purchase_discount", "seller"), ("ownership.pre_purchase", "shop"))
"""Whom to ask about a price, by the start of its key; else oneself."""
EVERY = "every aircraft"
"""Whose figure a price of the market is."""
UNKNOWABLE = frozenset({"ownership.value_drift_share", "ownership.price_drift_share", "ownership.premium_drift_share",
                        "ownership.overhaul_drift_share", "ownership.inflation_share",
                        "ownership.selling_share"})
"""What years to come will bring: nobody can tell."""
BARGAIN = ("engine.", "propeller.", "panel.", "state.damage", "state.logs", "state.open_directives", "state.tank",
           "state.gear", "state.months_since_annual", "ownership.purchase_discount")
"""Figures of an aircraft's condition and history, by the start of their key: an answer below what the price supposes is
a reason to offer less. Weights, speed and how much it was flown are what they are."""


@dataclass(frozen=True, slots=True)
class FindOut:
    """One thing to find out, the most valuable first.

    `who`: seller, insurer, landlord, shop, lender or oneself. `candidate`: whose figure, `every aircraft` for a price
    of the market. `value_usd`: expected saving a year from knowing it before choosing; None with too few replications.
    `spread_usd`: standard deviation that it gives the cost of a year. `kept`: `choice` from
    `statistics.least_worth_usd` on; `budget` where the answer is worth less than that but the cost of one that may be
    chosen hangs on it.
    `bargain`: whether the answer could be used to bargain.
    """

    who: str
    candidate: str
    figure: str
    label: str
    unit: str
    value_usd: float | None
    standard_error_usd: float | None
    spread_usd: float | None
    break_even: tuple[float, ...]
    changing: tuple[str, ...]
    why: str
    kept: str
    bargain: bool


def find_out(recosted: Recosted, priced: Priced, asked: Sequence[Question], serving: Sequence[int],
             level: Sequence[int]) -> tuple[FindOut, ...]:
    """Return what is worth finding out, then what the budget hangs on, then what is neither.

    Parameters
    ----------
    recosted : Recosted
    priced : Priced               Costs under price draws.
    asked : sequence of Question  Open figures of the listings, valued with prices averaged.
    serving : sequence of int     Candidates one chooses among.
    level : sequence of int       Of those, the ones that may be chosen; what only others hang on is no one's budget.
    """
    a, names = recosted.prepared.study.assumptions, recosted.names
    every = [*(_of_listing(q) for q in asked), *_of_prices(recosted, priced, [names[i] for i in serving])]
    mine = {EVERY, *(names[i] for i in level)}
    found = [replace(f, kept=_kept(f, a, mine)) for f in every]
    choice = sorted((f for f in found if f.kept == "choice"), key=lambda f: -(f.value_usd or 0.0))
    budget = sorted((f for f in found if f.kept == "budget"), key=lambda f: -(f.spread_usd or 0.0))
    return (*choice, *budget[:MOST_BUDGET], *(f for f in found if not f.kept and f.who == "seller"))


def _kept(f: FindOut, a: Assumptions, mine: Collection[str]) -> str:
    """Return where a figure or price stands."""
    if round(f.value_usd or 0.0, -1) >= max(a["statistics.least_worth_usd"], 1e-9):  # as it is printed
        return "choice"
    if f.figure in UNKNOWABLE:
        return ""
    return "budget" if f.candidate in mine and (f.spread_usd or 0.0) >= a["statistics.budget_spread_usd"] else ""


def _of_listing(q: Question) -> FindOut:
    return FindOut("seller", q.candidate, q.figure, q.label, q.unit, q.value_usd, q.standard_error_usd, q.spread_usd,
                   q.break_even, q.changing, q.why, "", q.figure.startswith(BARGAIN))


def _of_prices(recosted: Recosted, priced: Priced, serving: Sequence[str]) -> list[FindOut]:
    a, found = recosted.prepared.study.assumptions, []
    straight = {name: _straight(recosted, number, priced) for number, name in enumerate(recosted.names)}
    for key in sorted({key for _, key in priced.factors}):
        market = of_market(key) and len(serving) > 1
        for name in serving[:1] if market else serving:
            usd = {n: straight[n].get(key, 0.0) for n in serving}
            value = 0.0 if key in UNKNOWABLE else value_of_knowing(priced, None if market else name, key, serving, usd)
            factor = priced.factors.get((name, key))
            most = max(usd.values(), key=abs) if market else usd[name]
            spread = 0.0 if factor is None else float(abs(most) * factor.std())
            found.append(_price(a, key, EVERY if market else name, value, spread))
    return found


def _price(a: Assumptions, key: str, candidate: str, value: float, spread: float) -> FindOut:
    entry = a.entry(key)
    who = next((who for start, who in WHO if key.startswith(start)), "oneself")
    label = entry.what.split(";")[0].removesuffix(", by class")
    return FindOut(who, candidate, key, label, entry.unit, value, None, spread, (), (), "nobody gave it", "",
                   key.startswith(BARGAIN))


def _straight(recosted: Recosted, number: int, priced: Priced) -> Mapping[str, float]:
    """Return by price what of a candidate's mean cost is straight in it. [usd a year]"""
    parts, name = recosted.parts(number), recosted.names[number]
    mean = parts.usd.mean(axis=0)
    out: dict[str, float] = {}
    for usd, keys in zip(mean.tolist(), parts.prices, strict=True):
        for key in keys:
            others = np.prod([priced.factors[name, k].mean() for k in keys if k != key and (name, k) in priced.factors])
            out[key] = out.get(key, 0.0) + usd * float(others)
    part = recosted.tallies[number]
    return out | {CAR: exact_mean(part.column("car_usd")), AIRLINE: exact_mean(part.column("airline_usd"))}
