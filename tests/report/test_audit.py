"""A year added up from the files with a calculator: nothing of the package's money code is called here."""

from __future__ import annotations

import io
from collections import defaultdict

import numpy as np
import pandas as pd
import pytest

from missionsim.money.categories import Category
from missionsim.report.money_words import WORDS, money_section
from missionsim.report.run_file import result_files


@pytest.fixture(scope="module")
def files(comparison):
    texts = result_files(comparison, "<!doctype html>")
    return {name: pd.read_csv(io.StringIO(text), keep_default_na=False) for name, text in texts.items()
            if name.endswith(".csv")}


def a_year(rows):
    """Return what a year of an ownership costs, from its payments: present value, then equal yearly payments."""
    present = sum(r.amount_usd / (1.0 + r.rate_share) ** r.year for r in rows)
    rate, years = rows[0].rate_share, rows[0].years
    return present * (rate / (1.0 - (1.0 + rate) ** -years) if rate else 1.0 / years)


def grouped(frame):
    found = defaultdict(list)
    for row in frame.itertuples():
        found[row.candidate, row.replication].append(row)
    return found


def test_ledger_and_years_add_up_to_the_same_net_cost(files, comparison):
    ledger, years = grouped(files["ledger.csv"]), grouped(files["years.csv"])
    assert set(ledger) == set(years)
    for (name, replication), rows in ledger.items():
        by_ledger = sum(r.amount_usd for r in rows)
        assert by_ledger == pytest.approx(a_year(years[name, replication]), abs=0.5)
        assert by_ledger == pytest.approx(comparison.result(name).values("net_cost_usd")[replication], abs=0.005)


def test_every_category_follows_from_its_payments(files):
    """Plain payments over the years kept; price and resale stand together as value lost, the rest is the money's."""
    years = grouped(files["years.csv"])
    for key, rows in grouped(files["ledger.csv"]).items():
        told, plain = defaultdict(float), defaultdict(float)
        for r in rows:
            told[r.category] += r.amount_usd
        for r in years[key]:
            category = "value_lost" if r.category in {"purchase", "resale"} else r.category
            plain[category] += r.amount_usd / r.years
        plain["capital"] = a_year(years[key]) - sum(plain.values())
        assert {c for c, usd in told.items() if abs(usd) > 0.02} <= set(plain)
        for category, usd in plain.items():
            assert told[category] == pytest.approx(usd, abs=0.5 if category == "capital" else 0.02), (key, category)


def test_the_flown_year_is_what_each_year_of_the_ownership_pays(files):
    """Fuel rises with all prices, so that every year pays today's dollars of the flown one."""
    fuel = files["years.csv"][files["years.csv"].category == "fuel"]
    ledger = files["ledger.csv"]
    for row in fuel.itertuples():
        mine = ledger[(ledger.candidate == row.candidate) & (ledger.replication == row.replication)
                      & (ledger.category == "fuel") & (ledger.cause != "share of the years kept")]
        assert row.amount_usd == pytest.approx(mine.amount_usd.sum(), abs=0.02)


def test_visits_cost_what_the_ledger_pays_for_them(files):
    shop, ledger = files["shop.csv"], files["ledger.csv"]
    causes = ["flat fee", "findings at the annual", "100-hour inspection", "fault repaired", "oil change",
              "repair away from home"]
    paid = ledger[ledger.cause.isin(causes)].groupby(["candidate", "replication"]).amount_usd.sum()
    visits = shop.groupby(["candidate", "replication"]).cost_usd.sum()
    for key, usd in visits.items():
        assert usd == pytest.approx(paid.get(key, 0.0), abs=0.01)


def test_every_figure_drawn_is_told(files, comparison):
    drawn = files["drawn.csv"]
    for result in comparison.results:
        mine = drawn[drawn.candidate == result.name]
        luck = {f"luck.{part}_{k}" for part in ("engine_life", "engine_cost", "calendar_years") for k in (1, 2, 3)}
        luck |= {f"luck.{part}" for part in ("propeller_cost", "first_annual", "turbo_life_h", "propeller_life_years")}
        assert set(mine.figure) == set(result.tally.drawn) | luck
        assert len(mine) == (len(result.tally.drawn) + len(luck)) * comparison.replications
        sound = mine[mine.figure == "luck.calendar_years_2"].value.to_numpy(dtype=float)
        assert sound == pytest.approx(result.tally.owned.draws.calendar_years[:, 1], rel=1e-4)
    kinds = drawn[drawn.figure == "engine.overhaul_kind"]
    assert set(kinds.word) <= {"field", "shop", "factory"}


def test_price_draws_are_factors_about_one_and_shared_prices_are_alike(files, comparison):
    prices = files["prices.csv"]
    assert set(prices.candidate) == set(comparison.names)
    fuel = prices["cost.fuel_usd_per_gal"].to_numpy(dtype=float)
    assert (fuel > 0.0).all()
    assert 0.9 < np.median(fuel) < 1.2
    years = comparison.certainty.priced.cost.shape[2]
    assert len(prices) == years * len(comparison.names)


def test_every_sum_of_a_year_is_told_with_its_working(comparison):
    assert set(WORDS) | {Category.PURCHASE, Category.RESALE, Category.RENT} == set(Category)
    known = {a.key for a in comparison.study.assumptions}
    assert {key for _, keys in WORDS.values() for key in keys} <= known
    (table,) = money_section(comparison).tables
    assert {"fuel", "value lost", "capital", "insurance"} <= {row[0] for row in table.rows}
    assert all(row[-2] and row[-1] for row in table.rows)
    words = " ".join(row[-1] for row in table.rows)
    assert " - (" not in words          # a plain number has no unit
    assert "1/year" not in words
    assert "yield the owner's money would bring elsewhere: 5 % a year" in words
