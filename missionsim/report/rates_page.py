"""Flying for others in words, tables and pictures: what an hour costs and must bring, and what it costs the owner."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from missionsim.money.insurance import difficulty
from missionsim.report.first_screen import bar_rows
from missionsim.report.html import Section
from missionsim.report.shared_page import (
    SharedKind,
    SharedPage,
    around,
    by_candidate,
    common_reasons,
    reasons_table,
    shared_cautions,
    shared_object,
    tables_csv,
)
from missionsim.report.shared_screen import Bars, Curves, Ruler, RulerSums, Value, curves, drawn, ruler
from missionsim.report.tables import Table
from missionsim.report.wording import count, dollars, listing, number, percent, plain
from missionsim.study.inputs.load_study import Study
from missionsim.study.shared_use.hire import prepare_hire
from missionsim.study.shared_use.rates_results import CandidateRates, RatesResult, rates
from missionsim.year.hire_requests import usual_kind

CAUTIONS = (
    "Carrying people or property for hire needs an operating certificate and its holder's operational control (14 CFR "
    "119, 135); an aircraft let without a pilot to somebody who is then sent one does not get round that. Flight "
    "instruction and rental have rules of their own. What a private pilot may share with passengers is limited by "
    "14 CFR 61.113.",
    "Insurance must name the use. Numbers of the operating rules are our estimates: the operator checks them. Other "
    "countries have other rules; some forbid it in single-engine piston aircraft at night or on instruments. Ask the "
    "authority, the insurer, a tax adviser and a lawyer.",
)
NOT_MODELLED = (
    "requests that depend on the price asked, but for the table of other rates where the study gives an elasticity",
    "a second request made to fit on the way of an empty leg",
    "customers who come back or stay away after a trip was put off",
    "standing by for a request that weather frees on the day",
    "tax: depreciation, recapture, passive losses; interest",
    "more different years of requests than the assumption hire.demand_years; intervals tell the chance of weather, "
    "faults and which of these years comes",
)
OPERATION = {"charter_on_certificate": "charter on an operator's certificate",
             "rental_leaseback": "rental on leaseback"}


def rates_object(result: RatesResult, out: str | None) -> dict[str, Any]:
    """Return the study as plain objects: the contract of `rates --json`."""
    return shared_object(result, _cautions(result), out, operation=result.study.spec.operation)


def rates_csv(result: RatesResult) -> dict[str, str]:
    """Return the measures of all candidates as CSV text."""
    return tables_csv(rates=[
        {"candidate": c.name, "measure": name, **m} for c in result.candidates
        for name, m in (*c.measures.items(),
                        *((f"{kind}.{k}", v) for kind in ("break_even_rate_usd", "rate_with_margin_usd")
                          for k, v in getattr(c, kind).items()))])


def rates_page(result: RatesResult) -> SharedPage:
    """Return the page of a study of flying for others."""
    study, terms = result.study, result.use.terms
    sections = (
        Section("hour", "What an hour costs", (
            "Direct: fuel, oil, maintenance, inspections, and what engine and propeller use up. Full: everything a "
            "year takes, insurance for hire and money tied up too, spread over the hours flown; pay of crews left "
            "out.",),
            (), (_hours(result), _curve(result))),
        Section("rate", "What must be charged", (
            "Incremental: what the owner's year costs more with flying for others than without, own trips lost valued, "
            "over the hours billed. Full: what exists for it alone (crew, joining, dearer insurance, 100-hour "
            "inspections, own trips lost), and its share by hours of the rest, empty legs included. A revenue hour is "
            "a block hour with passengers; the hours billed are those unless the study says otherwise. Value lost is "
            "told before tax: what of it a tax return takes is for a tax adviser. The operator's share "
            f"({percent(terms.sale.operator_share)}) and ticket tax "
            f"({percent(terms.sale.ticket_tax_share)}) come out of the price first; the rates pay them too.",),
            (),
            (_rates(result), _by_hours(result), *_other_rates(result))),
        Section("own", "What it does to the owner's own trips", (), (), (_owner(result),)),
        Section("turned-away", "Requests turned away", (), (), (_refused(result),)),
    )
    return SharedPage(study, result.replications, f"{study.name}: {OPERATION[study.spec.operation]}",
                      study.spec.question or "What must be charged so that the owner does not lose?",
                      _sentences(result), _answer(result),
                      drawn(_pictures(result), [c.name for c in result.candidates]), sections, NOT_MODELLED,
                      _cautions(result), "rates.csv", (_answer(result), _short_curve(result), _owner(result)),
                      result.ways_told, _limits(result))


def _cautions(result: RatesResult) -> tuple[str, ...]:
    """Return the cautions; whoever hires an aircraft flies visually unless the study says otherwise."""
    study, outside = result.study, result.study.spec.outside
    own = None if outside is None else outside.crew.pilot
    crew = "instrument" if study.spec.operation == "charter_on_certificate" else "visual"
    if own is not None and "rating" in own.model_fields_set:
        crew = own.rating
    return shared_cautions(CAUTIONS, "operation", study.pilot.rating, crew)


def _money(measured: Mapping[str, Any]) -> str:
    return around(measured, _usd)


def _sentences(result: RatesResult) -> tuple[str, ...]:
    """Return the owner's answer, the best off first; then at which rate each stops losing."""
    flown = [c for c in result.candidates if c.break_even_rate_usd["incremental"]["mean"] is not None]
    told = sorted(((c, c.profit_usd) for c in flown if c.profit_usd is not None and c.profit_usd["mean"] is not None),
                  key=lambda pair: -float(pair[1]["mean"] or 0.0))
    lawful = f"It would be lawful only {LAWFUL[result.study.spec.operation]}."
    answers = [_owners_answer(result, c, profit) for c, profit in told]
    stops = [_stops_losing(c) for c in flown]
    first, *rest = [*answers, *stops] or ["No revenue hour was flown."]
    return (f"{first} {lawful}", *rest)


def _stops_losing(c: CandidateRates) -> str:
    less, whole = _money(c.break_even_rate_usd["incremental"]), _money(c.break_even_rate_usd["full"])
    return (f"{c.name}: flying for others stops losing money at {less} dollars a revenue hour, and carries its share "
            f"of the whole at {whole}; {percent(c.measures['empty_leg_share']['mean'])} of its hours are flown empty, "
            f"and the owner makes {number(c.owner_trips['lost']['mean'])} own trips a year fewer.")


def _limits(result: RatesResult) -> tuple[str, ...]:
    """Return what stands against an operation: what is lacking on board, and whom we expect to be hard to insure."""
    hard = [(c, difficulty(c.insurance)) for c in result.candidates]
    return (*(f"{c.name} lacks for this operation: {listing(c.missing)}. Every request is refused for equipment."
              for c in result.candidates if c.missing), *(f"{c.name}: {text}." for c, text in hard if text),
            *_flown_empty(result.study), *_usual_kinds(result.study))


def _flown_empty(study: Study) -> tuple[str, ...]:
    """Return whose empty legs a rental on leaseback bears: renters fly themselves, so that nobody is there for them."""
    empty = [line.line.purpose or " ".join(line.line.places) for line in study.requests if not all(line.occupied)]
    if study.spec.operation != "rental_leaseback" or not empty:
        return ()
    return (f"Rented out, yet legs are flown empty for {listing(list(dict.fromkeys(empty)))}: whoever rents an "
            "aircraft takes it where it stands and brings it back. Say `kind: wait` and no `from`, unless somebody is "
            "really paid to fetch or bring it.",)


def _usual_kinds(study: Study) -> tuple[str, ...]:
    """Return what requests are taken for that do not say whether the aircraft waits."""
    outside = study.spec.outside
    unsaid = 0 if outside is None else sum(request.kind is None for request in outside.requests)
    if not unsaid:
        return ()
    kind = usual_kind(study.spec.operation)
    other = "wait" if kind == "one_way" else "one_way"
    return (f"{count(unsaid, 'kind')} of request {'says' if unsaid == 1 else 'say'} nothing of the way back: "
            f"taken as `kind: {kind}`, {_KINDS[kind]}; `kind: {other}`: {_KINDS[other]}.",)


_KINDS = {"wait": "the aircraft waits and carries the same people back",
          "one_way": "they are set down and it comes home empty"}


def _pictures(result: RatesResult) -> tuple[Curves | Ruler | Bars, ...]:
    rate = result.use.terms.rate_usd_per_h
    lines = [(c.name, [Value(row["hours"], row["mean"], "", f"{_whole(row['hours'])} hours {_usd(row['mean'])} dollars")
                       for row in c.full_cost_per_hour_usd]) for c in result.candidates]
    own = "" if rate is None else f" Dashed: your rate, {_whole(rate)} dollars."
    reasons = common_reasons([c.turned_away for c in result.candidates])
    return (ruler("What an hour must bring", "Hollow: direct cost of a flight hour. Filled: the rate of a revenue hour "
                  "that stops losing, and further right the one that carries its share of the whole; thick: where each "
                  f"lies (95 %).{own}", [_ruled(c) for c in result.candidates], rate, lambda v: f"${v:,.0f}"),
            curves("The more it flies, the less an hour costs", "Full cost of a flight hour, pay of crews left out.",
                   "flight hours a year", lines, across=lambda v: f"{v:,.0f}", upward=lambda v: f"${v:,.0f}"),
            Bars("Requests turned away", "A year in the mean, by reason.", "Reason", bar_rows(
                [(plain(r), [(c.turned_away.get(r, 0.0), 0.0) for c in result.candidates]) for r in reasons], number)))


def _ruled(c: CandidateRates) -> RulerSums:
    direct, rates_usd = c.measures["direct_cost_per_hour_usd"], (c.break_even_rate_usd["incremental"],
                                                                c.break_even_rate_usd["full"])
    words = f"direct ${_usd(direct['mean'] or 0.0)}" + "".join(
        f", {label} ${_usd(m['mean'])}" for label, m in zip(("stops losing at", "full"), rates_usd, strict=True)
        if m["mean"] is not None)
    return RulerSums(c.name, words, () if direct["mean"] is None else (direct["mean"],),
                tuple(m["mean"] for m in rates_usd if m["mean"] is not None),
                tuple((m["low"], m["high"]) for m in rates_usd if m["low"] is not None and m["high"] is not None))


LAWFUL = {"charter_on_certificate": "under the operational control of the holder of an operating certificate (14 CFR "
                                    "119 and 135), whose aircraft it then is for that flight",
          "rental_leaseback": "under a lease to whoever rents it out or teaches in it, with pilots of their own"}
"""Under whose paper each operation would be lawful."""


def _owners_answer(result: RatesResult, c: CandidateRates, profit: Mapping[str, Any]) -> str:
    """Return whether offering it leaves the owner better off, by how much, how sure, and what it costs in own trips."""
    hours = number(c.measures["billed_hours"]["mean"], 0)
    sure = "" if profit["low"] is None else (", more than chance" if profit["low"] > 0.0 or profit["high"] < 0.0
                                             else ", which may be chance")
    rate = _whole(result.use.terms.rate_usd_per_h)
    return (f"At {rate} dollars and {hours} hours billed a year with the {c.name} the "
            f"owner is {'better' if profit['mean'] >= 0.0 else 'worse'} off than not offering it, by "
            f"{around(_loss_or_gain(profit), dollars)} dollars a year{sure}, and makes "
            f"{number(c.owner_trips['lost']['mean'])} own trips fewer.")


def _other_rates(result: RatesResult) -> tuple[Table, ...]:
    """Return what the owner gains at other rates, where demand is said to fall with the price."""
    if not result.candidates[0].at_other_rates:
        return ()
    rows = tuple((f"{c.name}, {number(row['rate_usd_per_h'], 0)} dollars", number(row["billed_hours"], 0),
                  dollars(row["gain_usd"])) for c in result.candidates for row in c.at_other_rates)
    return (Table(f"Where demand falls with the price (elasticity {result.use.terms.elasticity:g})",
                  ("Rate", "hours billed", "gain of the owner, dollars a year"), rows),)


def _loss_or_gain(profit: Mapping[str, Any]) -> dict[str, Any]:
    """Return a profit as it is, or a loss as a positive sum."""
    if profit["mean"] >= 0.0:
        return {name: profit[name] for name in ("mean", "low", "high")}
    low, high = profit["low"], profit["high"]
    return {"mean": -profit["mean"], "low": None if high is None else -high, "high": None if low is None else -low}


def _of(name: str, shown: Callable[[Any], str]) -> Callable[[CandidateRates], str]:
    """Return what shows a measure of a candidate."""
    return lambda c: around(c.measures[name], shown)


def _whole(value: float | None) -> str:
    return number(value, 0)


def _usd(value: float) -> str:
    return dollars(value, 1.0)


def _answer(result: RatesResult) -> Table:
    margin = percent(result.use.terms.margin_share)
    return by_candidate(
        "Dollars an hour (interval of the mean)", "", result,
        ("direct cost of a flight hour", _of("direct_cost_per_hour_usd", _usd)),
        ("break-even, incremental", lambda c: _money(c.break_even_rate_usd["incremental"])),
        ("break-even, full", lambda c: _money(c.break_even_rate_usd["full"])),
        (f"incremental with {margin} margin", lambda c: _money(c.rate_with_margin_usd["incremental"])),
        (f"full with {margin} margin", lambda c: _money(c.rate_with_margin_usd["full"])),
        ("revenue hours a year", _of("revenue_hours", _whole)),
        ("empty share of outside hours", _of("empty_leg_share", percent)),
        ("requests turned away", _of("turned_away_share", percent)))


def _hours(result: RatesResult) -> Table:
    return by_candidate(
        "Dollars and hours of the year with flying for others", "", result,
        ("direct cost of a flight hour", _of("direct_cost_per_hour_usd", _usd)),
        ("average over all hours, the owner's too, crew included", _of("cost_per_hour_usd", _usd)),
        ("cost of an occupied mile", _of("cost_per_occupied_nm_usd", lambda v: number(v, 2))),
        ("flight hours a year", _of("flight_hours", _whole)), ("of these for others", _of("outside_hours", _whole)),
        ("revenue hours (block, occupied)", _of("revenue_hours", _whole)),
        ("hours billed", _of("billed_hours", _whole)),
        ("value lost to flying for others a year, before tax", _of("value_lost_for_others_usd", dollars)),
        ("requests a year", _of("requests", _whole)), ("pay and expenses of crews a year", _of("crew_usd", dollars)))


def _curve(result: RatesResult) -> Table:
    hours = result.use.terms.hours_a_year
    return by_candidate("Full cost of a flight hour by hours flown a year, operated for hire", "Hours a year", result,
                        *((_whole(h), partial(_full_at, k)) for k, h in enumerate(hours)))


def _full_at(k: int, c: CandidateRates) -> str:
    return _money(c.full_cost_per_hour_usd[k])


def _short_curve(result: RatesResult) -> Table:
    rows = tuple((number(row["hours"], 0), *(cell for c in result.candidates for cell in (
        dollars(c.full_cost_per_hour_usd[k]["mean"], 1.0), _rate_at(k, c))))
        for k, row in enumerate(result.candidates[0].full_cost_per_hour_usd))
    head = ("Hours", *(text for c in result.candidates for text in (f"{c.name}: full cost an hour",
                                                                    "rate at so many sold")))
    return Table("By hours a year: full cost of a flight hour, and the rate that breaks even when so many are sold",
                 head, rows)


def _rate_at(k: int, c: CandidateRates) -> str:
    return _usd(c.rate_by_revenue_hours[k]["rate_usd_per_h"]) if c.rate_by_revenue_hours else "–"


def _rates(result: RatesResult) -> Table:
    return by_candidate(
        f"Price of a revenue hour; margin {percent(result.use.terms.margin_share)} of what reaches the owner", "",
        result,
        ("incremental", lambda c: _money(c.break_even_rate_usd["incremental"])),
        ("incremental with margin", lambda c: _money(c.rate_with_margin_usd["incremental"])),
        ("full", lambda c: _money(c.break_even_rate_usd["full"])),
        ("full with margin", lambda c: _money(c.rate_with_margin_usd["full"])))


def _by_hours(result: RatesResult) -> Table:
    hours = result.use.terms.hours_a_year
    return by_candidate("Rate that breaks even (incremental) by revenue hours sold a year", "Revenue hours", result,
                        *((_whole(h), partial(_rate_at, k)) for k, h in enumerate(hours)))


def _owner(result: RatesResult) -> Table:
    rows = tuple((c.name, *(number(c.owner_trips[name]["mean"], 1) for name in ("wanted", "completed_alone",
                                                                         "completed_with")),
                  around(c.owner_trips["lost"], number)) for c in result.candidates)
    return Table("The owner's own trips, mean year",
                 ("Candidate", "wanted", "made alone", "made with flying for others", "lost by it"), rows)


def _refused(result: RatesResult) -> Table:
    return reasons_table("Requests turned away by reason, mean year",
                         {c.name: c.turned_away for c in result.candidates})


KIND = SharedKind("rates", "charter.yaml", prepare_hire, rates, rates_page, rates_csv, rates_object)
