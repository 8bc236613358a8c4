"""One printed sheet for a partner or a lender: what it would cost, what it would do, and what that rests on."""

from __future__ import annotations

from dataclasses import dataclass

from missionsim.report.answer import answer
from missionsim.report.first_screen import CostDots, TradeOff, cost_dots, trade_off
from missionsim.report.tables import Table, span
from missionsim.report.wording import cautions_for, count, dollars, in_usd, number, plain
from missionsim.study.compare.alternatives import OWN
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.replicate.ownership_years import years_kept

MOST_SENTENCES, MOST_WAYS = 3, 4


@dataclass(frozen=True, slots=True)
class OneSheet:
    """What stands on the sheet, in order.

    Parameters
    ----------
    title, question : str
    sentences, limits : tuple of str
    aircraft, other_ways : Table
    rests_on : tuple of pairs          What was assumed of the flying and the money, with its value in words.
    cautions : tuple of str
    """

    title: str
    question: str
    sentences: tuple[str, ...]
    limits: tuple[str, ...]
    aircraft: Table
    other_ways: Table
    cost: CostDots
    trade: TradeOff
    rests_on: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]


def one_sheet(comparison: Comparison) -> OneSheet:
    """Return the sheet of a comparison."""
    told, study = answer(comparison), comparison.study
    return OneSheet(f"{study.name}, {study.home.ident}", told.question, told.sentences[:MOST_SENTENCES], told.limits,
                    _aircraft(comparison), _other_ways(comparison), cost_dots(comparison), trade_off(comparison),
                    _rests_on(comparison), cautions_for(study.pilot.rating))


def _aircraft(comparison: Comparison) -> Table:
    wanted = comparison.results[0].measures["trips_wanted"]["mean"]
    head = ("Aircraft", "Asked", "Cash on the day of purchase", "Cash in the first year", "A year, all trips done",
            "Eight cases of ten", f"Trips made of {number(wanted, 0)}", "Hours flown", "An hour, at likely prices")
    rows = tuple(_row(r, f.cost.asking_price_usd) for r, f in zip(comparison.results, comparison.prepared.flyers,
                                                                strict=True))
    return Table("What each aircraft would cost and do", head, rows)


def _row(result: Result, asked_usd: float) -> tuple[str, ...]:
    m = result.measures
    cash = [in_usd(year["cash_usd"]["mean"]) for year in (result.by_year or ())[:2]]
    return (result.name, in_usd(asked_usd), *(cash if len(cash) == 2 else ("–", "–")),
            in_usd(m["net_cost_usd"]["mean"]), span(m["net_cost_usd"]["p10"], m["net_cost_usd"]["p90"]),
            number(float(result.tally.column("completed").mean())), number(m["flight_hours"]["mean"], 0),
            in_usd(m["cost_per_hour_usd"]["mean"], 1.0))


def _other_ways(comparison: Comparison) -> Table:
    rows: list[tuple[str, ...]] = []
    for x in () if comparison.alternatives is None else comparison.alternatives.every:
        if x.kind != OWN and len(rows) < MOST_WAYS:
            net = x.entry()["net_cost_usd"]
            rows.append((x.name + (" (estimate)" if x.estimate else ""), in_usd(net["mean"]),
                         span(net["p10"], net["p90"]), number(float(x.made.mean()))))
    return Table("The same trips otherwise", ("", "A year, all trips done", "Eight cases of ten",
                                              "Trips made by light aircraft"), tuple(rows))


def _rests_on(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    study, prices = comparison.study, comparison.prepared.prices
    pilot = study.pilot
    quoted = prices.insurance_usd_per_year
    premiums = [r.insurance.get("premium_usd") for r in comparison.results]
    asked = [p for p in premiums if p is not None]
    return (
        ("Trips", f"{number(comparison.results[0].measures['trips_wanted']['mean'], 0)} wanted in a year, "
                  f"taken as a {plain(study.trips_are)}"),
        ("Simulated", f"{count(comparison.replications, 'year')} of weather, faults and prices, seed {study.seed}"),
        ("Pilot", f"{pilot.rating} rating, {number(pilot.total_h, 0)} hours in all"),
        ("Fuel", f"${prices.fuel_usd_per_gal:,.2f} a gallon"),
        ("Insurance", f"${dollars(quoted)} a year, as quoted" if quoted is not None else
         "our estimate, " + span(min(asked), max(asked)) + " in the first year; ask a broker" if asked else
         "our estimate; ask a broker"),
        ("Kept", f"{count(years_kept(comparison.prepared), 'year')}, then sold"),
        ("An hour of a traveller", in_usd(prices.value_of_time_usd_per_h, 1.0)),
    )
