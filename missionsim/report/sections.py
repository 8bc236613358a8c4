"""Further parts of the report, each only when the comparison has what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from missionsim.report import draw_change, owned_tables
from missionsim.report.decide_early import decide_early
from missionsim.report.grid import grid_section
from missionsim.report.html import Section
from missionsim.report.marks import marks_section
from missionsim.report.money_words import money_section
from missionsim.report.put_off import put_off_section
from missionsim.report.refusals_section import refusals_section
from missionsim.report.shop import shop_section
from missionsim.report.svg_figure import COLOURS, INK, SvgFigure, names_on_y
from missionsim.report.tables import Table, span
from missionsim.report.trip_worth import trip_worth_section
from missionsim.report.verdict import few_batches
from missionsim.report.wording import chance, dollars, in_ten, in_usd, kinds_of_sources, the
from missionsim.statistics.information_value import CAUTION
from missionsim.study.compare.certainty import Certainty
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.find_out import FindOut
from missionsim.study.compare.recost import Recosted
from missionsim.study.compare.sensitivity import tied_down

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SHOWN = 12
"""Questions shown in the figure; the table has all."""


def further_sections(comparison: Comparison) -> list[Section]:
    """Return the sections on marks, shop, deciding, ownership, questions, tipping points, upgrades, if any."""
    found = [_sure(comparison), _find_out(comparison), marks_section(comparison), refusals_section(comparison),
             shop_section(comparison), put_off_section(comparison), decide_early(comparison), _years(comparison),
             _hangs_on(comparison), trip_worth_section(comparison), grid_section(comparison)]
    return [*(section for section in found if section is not None), *_more(comparison), money_section(comparison)]


def _at_common(comparison: Comparison, sure: Certainty) -> str:
    """Return the chances were prices of several aircraft quite apart, or all the same part."""
    lead = sure.lead
    share = comparison.study.assumptions["statistics.common_price_share"]
    told = [f"{chance(found[lead], comparison.replications)} {words}" for words, found in (
        ("if it were not", sure.at_common[0.0]), ("if all of it were", sure.at_common[1.0]))]
    return (f"Of what is open in a price {100.0 * share:.0f} % is taken to be the same for all aircraft, which is an "
            f"assumption: that the average year of {the(comparison.names[lead])} is the cheapest has {told[0]}, "
            f"{told[1]}.")


def _layer(comparison: Comparison, i: int, which: str) -> str:
    """Return a layer's standard deviation; what is open in an advertisement may be lost in the luck of few years."""
    assert comparison.certainty is not None
    usd = comparison.certainty.spread[i][which]
    if which == "listing" and not round(usd, -2) and comparison.prepared.flyers[i].listing.unsaid:
        return "not told from luck"
    return in_usd(usd)


def _sure(comparison: Comparison) -> Section | None:
    """Return the three layers of what is not known, each by itself, and the two chances."""
    sure = comparison.certainty
    if sure is None:
        return None
    rows = tuple((r.name, *(_layer(comparison, i, k) for k in ("luck", "listing", "prices", "total")),
                  span(*sure.prices_usd[i]), in_ten(sure.probability_best[i]) if sure.enough else "withheld",
                  chance(sure.confidence_mean_best[i], comparison.replications) if sure.enough else "withheld")
                 for i, r in enumerate(comparison.results))
    head = ("Candidate", "Luck of the year", "What the advertisement leaves open", "Prices nobody gave", "All",
            "Average year, 8 of 10 draws of prices", "Cheapest, years of 10", "Its average year the cheapest")
    text: tuple[str, ...] = (
            "Three things are not known: what a year brings, what the advertisement leaves open, and prices nobody "
            "gave. More simulated years make none of them smaller; they only tell the average better. The first "
            "columns are standard deviations of one year in dollars. The last two are different things: in how many "
            "years of ten it would be the cheapest, and how likely its average year is. For that, true differences are "
            "supposed to scatter with four thirds of the standard error that the flown years leave.",)
    if sure.enough and sure.at_common and len(comparison.results) > 1:
        text += (_at_common(comparison, sure),)
    if not sure.enough and comparison.study.spec.years > 1:
        text += (f"Chances are withheld: {few_batches(comparison)}.",)
    kinds = kinds_of_sources(a.source for a in comparison.study.assumptions)
    text += (f"Of {sum(kinds.values())} figures nobody gave, {kinds['law']} are law, {kinds['published']} published, "
             f"{kinds['common practice']} common practice, {kinds['our own estimates']} our own estimates without a "
             "published source, which says little of how far off they are.",)
    table = Table("How far a year may be from its mean, and the two chances", head, rows)
    return Section("sure", "How sure", text, (), (table,))


def _find_out(comparison: Comparison) -> Section | None:
    """Return what to find out, by worth, then what only the budget hangs on."""
    told = [f for f in comparison.find_out if f.kept]
    open_ = [f for f in comparison.find_out if f.who == "seller" and not f.kept]
    if not told and not open_:
        return None
    head = ("Of", "What nobody said", "Whom to ask", "Worth knowing, a year", "To bargain", "Why it stands here")
    made = [Table(caption, head, tuple((f.candidate, f.label, f.who, _worth(f), "yes" if f.bargain else "no", f.why)
                                     for f in told if f.kept == kept))
            for caption, kept in (("What an answer would change, the most valuable first", "choice"),
                                  ("For your budget: what the cost of one that may be chosen hangs on", "budget"))
            if any(f.kept == kept for f in told)]
    if open_:
        made.append(Table("Figures the advertisements leave open, without worth for the choice", head[:2],
                          _by_candidate(open_)))
    need = comparison.study.assumptions["statistics.question_replications"]
    text: tuple[str, ...] = (
            "What it would save in the mean year to know a figure before choosing, among candidates that do the job: "
            "nothing where no answer would change the choice. Prices are valued by costing the flown years again, "
            "figures of an advertisement by a regression on all of them at once.", CAUTION)
    if comparison.certainty is not None and comparison.replications >= need:
        text += (f"Knowing every price and figure at once would save {dollars(comparison.certainty.knowing_all_usd)} "
                 "dollars a year at most; what the years bring stays luck.",)
    if comparison.replications < need:
        text += (f"What sellers' answers are worth can be told from {need:g} simulated years on; this run has "
                 f"{comparison.replications}.",)
    worth = [f for f in told if f.kept == "choice"]
    return Section("questions", "What to find out first", text,
                   (_worth_figure(worth[:SHOWN]),) if worth else (), tuple(made))


def _by_candidate(open_: Sequence[FindOut]) -> tuple[tuple[str, str], ...]:
    """Return a row a candidate with all that its advertisement leaves open."""
    left: dict[str, list[str]] = {}
    for f in open_:
        left.setdefault(f.candidate, []).append(f.label)
    return tuple((name, "; ".join(labels)) for name, labels in left.items())


def _worth(f: FindOut) -> str:
    if f.value_usd is None:
        return "too few years"
    error = f" ± {dollars(f.standard_error_usd, 10.0)}" if f.standard_error_usd else ""
    spread = "" if f.spread_usd is None else f"; moves the year by ± ${dollars(f.spread_usd, 10.0)}"
    return (f"${dollars(f.value_usd, 10.0)}{error}" if f.value_usd > 0 else "nothing") + spread


def _worth_figure(found: Sequence[FindOut]) -> SvgFigure:
    names = [f"{f.label} ({f.candidate})" for f in found]
    values = np.array([f.value_usd or 0.0 for f in found])
    errors = np.array([f.standard_error_usd or 0.0 for f in found])
    words = "; ".join(f"{n}: {dollars(v, 10.0)} dollars" for n, v in zip(names, values, strict=True))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        axes.barh(range(len(names)), values, xerr=errors, color=COLOURS[0], ecolor=INK, height=0.6, capsize=3)
        names_on_y(axes, names, 26)
        axes.set_xlabel("dollars a year saved by knowing")

    return SvgFigure("questions", "What is worth most to find out",
                     "The longer the bar, the more it is worth to find out before choosing; the fine line is the "
                     "standard error, where there is one.",
                     words, 1.0 + 0.55 * len(names), draw)


def _hangs_on(comparison: Comparison) -> Section | None:
    makers = (owned_tables.tipping, owned_tables.bars, owned_tables.offers)
    made = [table for make in makers if (table := make(comparison)) is not None]
    if not made:
        return None
    text = ("Where the cheapest candidate changes when one condition moves and all else stays, and how far each input "
            "moves the lead. The same flown years are costed again; routes and loads stay as flown.",
            *([owned_tables.OFFERS_TOLD] if comparison.offers else []))
    drawn = draw_change.bars(comparison)
    return Section("tipping", "What would change the choice", text, () if drawn is None else (drawn,), tuple(made))


def _years(comparison: Comparison) -> Section | None:
    makers = (owned_tables.ownership, owned_tables.ownership_units, owned_tables.cash_by_year)
    made = [table for make in makers if (table := make(comparison)) is not None]
    if not made:
        return None
    text = ("Cash, taxes and overhauls when they fall, less resale; never to be added to the cost of a year above, "
            "which is this spread over the years. The first year starts with instruction and, where there are any, "
            "upgrades in the shop. Each later year has its own weather and luck; the trips are the same. Reaching the "
            "published hours is not a promise.",)
    drawn = draw_change.engines(comparison)
    return Section("ownership", "Years of ownership", text, () if drawn is None else (drawn,), tuple(made))


def _more(comparison: Comparison) -> list[Section]:
    found = []
    made = owned_tables.upgrades(comparison)
    if made:
        months = owned_tables.months(comparison)
        text = ("Each upgrade flown through the same simulated years as the aircraft without it. What several add "
                "together is less than their sum. Prices and times in the shop are likely values; half as long again "
                "is not rare.",)
        made += [] if months is None else [months]
        found.append(Section("upgrades", "What upgrades would bring", text, (), tuple(made)))
    rent = owned_tables.rent_or_own(comparison)
    if rent is not None:
        recosted = Recosted(comparison.prepared, [r.tally for r in comparison.results])
        text = ("Renting: fuel, upkeep, insurance and hangar are in the rate, with a least number of hours for each "
                "day away. That a rented aircraft is there when it is wanted is supposed.",)
        found.append(Section("rent", "Rent or own, hangar or tie-down", text, (),
                             (rent, owned_tables.hangar(tied_down(recosted)))))
    return found
