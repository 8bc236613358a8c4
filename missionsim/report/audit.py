"""The files an auditor adds up: what each shop visit cost, every figure drawn, every year of every ownership."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from missionsim.base.arrays import Array
from missionsim.money.categories import CATEGORIES
from missionsim.money.ledger import visits_usd
from missionsim.money.overhauls import OwnershipDraws
from missionsim.money.ownership_cash import Ownership
from missionsim.report.records import kept_replications
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.replicate.ownership_years import bought

LUCK = ("engine_life", "engine_cost", "propeller_cost", "first_annual", "calendar_years", "turbo_life_h",
        "propeller_life_years", "second_life", "second_cost", "second_calendar_years", "second_turbo_life_h")
"""Fields of `OwnershipDraws` that are drawn and stand in no listing."""


def visit_usd(comparison: Comparison, result: Result) -> Array:
    """Return what each kept shop visit of the flown year cost, by row of `shop.csv`; overhauls stand in `years.csv`."""
    assert result.tally.kept is not None
    prepared, shop = comparison.prepared, result.tally.kept.shop
    flyer = prepared.flyers[comparison.names.index(result.name)]
    home = prepared.place_prices.home
    places = np.where(shop["ident"] == comparison.study.home.ident, home, -1)
    return visits_usd({**shop, "place": places}, flyer.cost, prepared.books(flyer))


def years_frame(comparison: Comparison) -> pd.DataFrame:
    """Return every payment of every ownership whose records were kept, by year end and category.

    In today's dollars, whichever the study tells its years in; `rate_share` is the yearly rate that goes with them. A
    year of the ownership costs the sum over its rows of `amount_usd / (1 + rate_share) ** year`, times
    `rate_share / (1 - (1 + rate_share) ** -years)`: the net cost that `ledger.csv` adds up to, cents apart.
    """
    frames = [_years(result.name, bought(entrant, result.tally.owned), kept_replications(result))
              for entrant, result in zip(comparison.prepared.entrants, comparison.results, strict=True)]
    return pd.concat(frames, ignore_index=True)


def _years(name: str, owned: Ownership, replications: list[int]) -> pd.DataFrame:
    cash = owned.today_cents[:len(replications)]
    row, year, code = np.nonzero(cash)
    return pd.DataFrame({
        "candidate": [name] * len(row), "replication": np.array(replications, dtype=np.int64)[row], "year": year,
        "category": [str(CATEGORIES[c]) for c in code], "amount_usd": cash[row, year, code] / 100.0,
        "years": [owned.years] * len(row), "rate_share": [f"{owned.real_share:.12f}"] * len(row)})


def prices_frame(comparison: Comparison) -> pd.DataFrame:
    """Return the factor of every price nobody gave in every draw laid over the years, one row a candidate and draw."""
    found = comparison.certainty
    if found is None:
        return pd.DataFrame({"candidate": [], "draw": []})
    frames = []
    for name in comparison.names:
        own = {key: np.char.mod("%.6f", values) for (owner, key), values in found.priced.factors.items()
               if owner == name}
        count = len(next(iter(own.values()), ()))
        frames.append(pd.DataFrame({"candidate": [name] * count, "draw": np.arange(count), **own}))
    return pd.concat(frames, ignore_index=True)


def _luck(draws: OwnershipDraws) -> dict[str, Array]:
    """Return what is drawn for the overhauls of an ownership, (r,) each."""
    found: dict[str, Array] = {}
    for name in LUCK:
        values = getattr(draws, name)
        if values is None:
            continue
        columns = [values] if values.ndim == 1 else list(values.T)
        found |= {f"luck.{name}" if values.ndim == 1 else f"luck.{name}_{k}": column
                  for k, column in enumerate(columns, start=1)}
    return found


def drawn_frame(comparison: Comparison) -> pd.DataFrame:
    """Return every figure as drawn, one row a candidate, replication and figure; words for categories.

    Figures of the listing by their keys, then the luck of engines and propeller (`luck.`): uniforms by which overhauls
    come and cost, and drawn lives in their unit; of several engines in turn the first, `_1`, is the one bought.
    """
    rows: dict[str, list[Any]] = {name: [] for name in ("candidate", "replication", "figure", "value", "word")}
    for number, result in enumerate(comparison.results):
        words = {u.key: u.categories for u in comparison.prepared.flyers[number].listing.unsaid}
        for key, values in {**result.tally.drawn, **_luck(result.tally.owned.draws)}.items():
            count = len(values)
            rows["candidate"] += [result.name] * count
            rows["replication"] += result.tally.replications.tolist()
            rows["figure"] += [key] * count
            rows["value"] += values.tolist()
            rows["word"] += [words[key][int(v)] for v in values] if words.get(key) else [""] * count
    return pd.DataFrame(rows)
