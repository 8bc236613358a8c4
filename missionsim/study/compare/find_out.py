"""What to find out before choosing, from whom, and what an answer is worth: open figures and prices nobody gave."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.statistics.intervals import exact_mean
from missionsim.study.compare.price_draws import AIRLINE, CAR, Priced, of_market, value_of_knowing
from missionsim.study.compare.questions import Asked
from missionsim.study.compare.recost import Recosted

Floats = NDArray[np.float64]
WORTH_USD, BUDGET_USD, MOST_BUDGET = 10.0, 300.0, 5
"""Least worth of knowing a price [usd a year] that is told; least spread that stands under `for your budget`, and how
many of those."""
WHO: tuple[tuple[str, str], ...] = (
    ("insurance.", "insurer"), ("cost.hangar", "landlord"), ("cost.tie_down", "landlord"),
    ("maintenance.", "shop"), ("engine_life.", "shop"), ("ownership.loan", "lender"),
    ("ownership.purchase_discount", "seller"), ("ownership.pre_purchase", "shop"))
"""Whom to ask about a price, by the start of its key; else oneself."""
UNKNOWABLE = frozenset({"ownership.value_drift_share", "ownership.price_drift_share", "ownership.premium_drift_share",
                        "ownership.overhaul_drift_share", "ownership.inflation_share"})
"""What years to come will bring: nobody can tell."""
BARGAIN = ("seller",)
"""An answer of whom could be used to bargain."""


@dataclass(frozen=True, slots=True)
class FindOut:
    """One thing to find out, the most valuable first.

    `who`: seller, insurer, landlord, shop, lender or oneself. `candidate`: whose figure, `every aircraft` for a price
    of the market. `value_usd`: expected saving a year from knowing it before choosing; None with too few replications.
    `spread_usd`: standard deviation that it gives the cost of a year. `kept`: `choice`, or `budget` where no answer
    changes the choice but the cost hangs on it. `bargain`: whether the answer could be used to bargain.
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


def find_out(recosted: Recosted, priced: Priced, asked: Sequence[Asked], serving: Sequence[int]) -> tuple[FindOut, ...]:
    """Return what is worth finding out, then what the budget hangs on.

    Parameters
    ----------
    recosted : Recosted
    priced : Priced               Costs under price draws.
    asked : sequence of Asked     Open figures of the listings, valued with prices averaged.
    serving : sequence of int     Candidates one chooses among.
    """
    found = [*(_of_listing(q) for q in asked), *_of_prices(recosted, priced, [recosted.names[i] for i in serving])]
    choice = sorted((f for f in found if f.kept == "choice"), key=lambda f: -(f.value_usd or 0.0))
    budget = sorted((f for f in found if f.kept == "budget"), key=lambda f: -(f.spread_usd or 0.0))
    return (*choice, *budget[:MOST_BUDGET], *(f for f in found if not f.kept))


def _of_listing(q: Asked) -> FindOut:
    worth = q.value_usd is not None and q.value_usd > 0.0
    return FindOut("seller", q.candidate, q.figure, q.label, q.unit, q.value_usd, q.standard_error_usd, None,
                   q.break_even, q.changing, q.why, "choice" if worth else "", True)


def _of_prices(recosted: Recosted, priced: Priced, serving: Sequence[str]) -> list[FindOut]:
    a, found = recosted.prepared.study.assumptions, []
    straight = {name: _straight(recosted, number, priced) for number, name in enumerate(recosted.names)}
    for key in sorted({key for _, key in priced.factors}):
        market = of_market(key) and len(serving) > 1
        for name in serving[:1] if market else serving:
            usd = {n: straight[n].get(key, 0.0) for n in serving} if market else {name: straight[name].get(key, 0.0)}
            value = value_of_knowing(priced, None if market else name, key, serving, usd)
            factor = priced.factors.get((name, key))
            spread = 0.0 if factor is None else float(max(usd.values(), key=abs) * factor.std())
            worth = value >= WORTH_USD and key not in UNKNOWABLE
            kept = "choice" if worth else "budget" if spread >= BUDGET_USD else ""
            if kept:
                found.append(_price(a, key, "every aircraft" if market else name, value, spread, kept))
    return found


def _price(a: Assumptions, key: str, candidate: str, value: float, spread: float, kept: str) -> FindOut:
    entry = a.entry(key)
    who = next((who for start, who in WHO if key.startswith(start)), "oneself")
    label = entry.what.split(";")[0].removesuffix(", by class")
    why = f"{label}: nobody gave it" + ("" if kept == "choice" else "; no answer changes the choice")
    worth = value if kept == "choice" else 0.0
    return FindOut(who, candidate, key, label, entry.unit, worth, None, spread, (), (), why, kept, who in BARGAIN)


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
