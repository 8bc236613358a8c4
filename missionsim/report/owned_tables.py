"""Tables of what goes beyond one year and one answer: ownership, what the answer hangs on, upgrades, rent or own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from missionsim.money.insurance import difficulty
from missionsim.report.tables import Table, span
from missionsim.report.wording import (
    SUBJECTS,
    dollars,
    each_step,
    in_usd,
    month_names,
    number,
    percent,
    plain,
    source_words,
    start,
)
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.ownership import LEAST_BATCHES
from missionsim.study.compare.sensitivity import Bar
from missionsim.study.compare.variants import INSTRUMENT
from missionsim.study.replicate.one_year import CHUNK

BEST = 5
"""Upgrades shown in full for each candidate; the rest are named."""
REST = "the rest does not pay in trips or dollars, as far as can be told"
NOTHING = "nothing pays in trips or dollars, as far as can be told"


def ownership(comparison: Comparison) -> Table | None:
    """Return what each candidate costs over the years, best and worst, and what comes back."""
    found = comparison.ownership
    if found is None:
        return None
    rows = []
    for o in sorted(found.owned, key=lambda x: x.cost_per_year_usd["mean"] or 0.0):
        a_year, present, sold = o.cost_per_year_usd, o.net_present_cost_usd, o.resale_usd
        rows.append((o.name, in_usd(a_year['mean']), span(a_year["p10"], a_year["p90"]),
                     span(a_year["low"], a_year["high"]), in_usd(present['mean'], 1000.0),
                     in_usd(o.worst_tenth_usd, 1000.0), span(sold["p10"], sold["p90"], 1000.0),
                     percent(o.engine_overhaul_share), percent(found.probability_best[o.name])))
    return Table(f"{found.years} years: buying, flying all trips, selling, at likely prices",
                 ("Candidate", "A year, mean", "Eight owners of ten", "Mean lies in (95 %)",
                  "Net present cost, all years", "Worst tenth of owners, all years", "Sold for (eight of ten)",
                  "Engine overhauled", "Cheapest"), tuple(rows))


def ownership_units(comparison: Comparison) -> Table | None:
    """Return the aircraft's own cost by hour, trip and seat mile, cash to hold, and what an insurer asks."""
    found = comparison.ownership
    if found is None:
        return None
    rows = []
    for o in found.owned:
        asks = f"${dollars(o.insurance['premium_usd'])} the first year, {o.insurance['dual_h']:g} h of instruction"
        verdict = difficulty(o.insurance) or asks
        hold = (f"${dollars(o.cash['p90_usd'], 1000.0)} / ${dollars(o.cash['p95_usd'], 1000.0)}, most in year "
                f"{o.cash['year']}")
        rows.append((o.name, in_usd(o.cost_per_hour_usd['mean'], 1.0),
                     in_usd(o.cost_per_completed_trip_usd['mean'], 10.0),
                     f"${number(o.cost_per_seat_nm_usd['mean'], 2)}", hold, number(o.trips_lost_to_shop["mean"], 0),
                     verdict))
    return Table("The aircraft's own cost, without travel otherwise",
                 ("Candidate", "An hour", "A completed trip", "A seat mile", "Cash beyond the plan, 90 / 95 %",
                  "Trips lost to shop and training", "Insurance"), tuple(rows))


def cash_by_year(comparison: Comparison) -> Table | None:
    """Return cash by year and candidate: mean, and the worst tenth's start."""
    found = comparison.ownership
    if found is None:
        return None
    head = ("At the end of year", *(o.name for o in found.owned))
    rows = []
    for year in range(found.years + 1):
        cells = []
        for o in found.owned:
            entry = o.by_year[year]
            cash = entry["cash_usd"]
            share = entry.get("engine_overhaul_share", 0.0)
            late = f", engine {percent(share)}" if share else ""
            cells.append(f"{in_usd(cash['mean'])} ({span(cash['p10'], cash['p90'])}){late}")
        rows.append(("0, purchase" if year == 0 else f"{year}, sale" if year == found.years else str(year), *cells))
    return Table("Cash by year: mean, and eight owners of ten; engine: share that overhaul it in that year", head,
                 tuple(rows))


def tipping(comparison: Comparison) -> Table | None:
    """Return where the choice changes hands."""
    if not comparison.tipping_points:
        return None
    rows = tuple((start(SUBJECTS.get(t["variable"], plain(t["variable"]))), _condition(t, t["at"], t["unit"]),
                  f"{'open' if t['low'] is None else _condition(t, t['low'])} to "
                  f"{'open' if t['high'] is None else _condition(t, t['high'])}{'' if t['placed'] else ', not placed'}",
                  t["from"], t["to"], t["how"])
                 for t in comparison.tipping_points)
    return Table("Where the cheapest changes; not placed where the interval is open or holds what is today",
                 ("What", "At", "Not clear between", "Cheapest below", "Cheapest above", "How found"), rows)


def _condition(t: Mapping[str, Any], value: float, unit: str = "") -> str:
    """Return a value of a condition as people say it: a yield as so many percent a year."""
    if t["variable"] == "own_money_share_per_year":
        return f"{100.0 * value:.1f} % a year"
    return f"{_figure(value)} {unit}".strip()


def bars(comparison: Comparison) -> Table | None:
    """Return how the answer moves when one input does, the strongest first."""
    names = [n for n in comparison.names if comparison.bars and n in comparison.bars[0].low_usd]
    if len(names) < 2:
        return None
    rows = tuple((b.what, _between(b),
                  *(f"${dollars(b.low_usd[n])} to ${dollars(b.high_usd[n])}" for n in names),
                  in_usd(b.swing_usd, 10.0), "yes" if b.changes_hands else "no", source_words(b.source))
                 for b in comparison.bars)
    head = ("Input", "From, to", *names, "Lead moves by", "Another cheapest", "Where the range is from")
    return Table("One input at a time, the one that moves the lead most first", head, rows)


def _between(b: Bar) -> str:
    """Return the ends of an input as people say them: yields and multiples as percent, zero dollars as today's."""
    if b.unit == "1/year":
        return f"{_figure(100.0 * b.low)} to {_figure(100.0 * b.high)} % a year"
    if b.unit == "x":
        return f"{100.0 * b.low:.0f} to {100.0 * b.high:.0f} % of what it is"
    if b.unit == "$":
        return f"as it is to ${dollars(b.high)}" if b.low == 0.0 else f"${dollars(b.low)} to {dollars(b.high)}"
    return f"{_figure(b.low)} to {_figure(b.high)} {b.unit}"


def offers(comparison: Comparison) -> Table | None:
    """Return the prices at which rivals are equal."""
    if not comparison.offers:
        return None
    enough = comparison.certainty is None or comparison.certainty.enough
    rows = tuple((o.candidate, in_usd(o.asking_usd), in_usd(o.paid_usd),
                  in_usd(o.market_value_usd),
                  "at no price" if o.equal_usd is None else in_usd(o.equal_usd),
                  span(o.low_usd, o.high_usd) if enough else f"from {LEAST_BATCHES * CHUNK} ownerships on",
                  o.rival, _with_ends(o.engine_hour_usd, o.engine_hour_low_usd, o.engine_hour_high_usd))
                 for o in comparison.offers)
    head = ("Candidate", "Asked", "Counted as paid", "Valued at", "Equal when paid", "Between (95 %)", "to the",
            "An engine hour in it")
    return Table("What to offer at most: equal to the cheapest other aircraft, at likely prices", head, rows)


OFFERS_TOLD = ("Of what to offer: counted as paid is what is asked less the usual discount. Where it equals the "
               "cheapest other aircraft only at a price above that, it is ahead as it stands: offer no more. Whether "
               "to own one at all is another question.")
"""What the prices of `offers` say, and what not."""


def _with_ends(mean: float | None, low: float | None, high: float | None) -> str:
    """Return dollars with their interval in brackets, where there is one."""
    ends = "" if low is None or high is None else f" ({dollars(low, 1.0)} to {dollars(high, 1.0)})"
    return f"${dollars(mean, 1.0)}{ends}"


def rent_or_own(comparison: Comparison) -> Table | None:
    """Return owning against renting and travelling otherwise."""
    if not comparison.rent_or_own:
        return None
    rows = tuple((r.candidate, in_usd(r.own_usd), in_usd(r.rent_usd), in_usd(r.travel_usd),
                  _from(r.renting_from_h), _from(r.travelling_from_h),
                  f"{number(r.own_door_h, 0)} / {number(r.travel_door_h, 0)}")
                 for r in comparison.rent_or_own)
    return Table("Own, rent or travel otherwise: all trips of a year, at likely prices",
                 ("Candidate", "Own", "Rent one like it", "Car and airline", "Owning beats renting from",
                  "Owning beats travelling from", "Hours door to door: flown / by car and airline"), rows)


def upgrades(comparison: Comparison) -> list[Table]:
    """Return one table a candidate: what each upgrade gains and costs."""
    if not comparison.upgrades:
        return []
    head = ("What", "Installed", "Days in the shop", "Trips more a year", "Hours door to door", "Net cost a year",
            "Of that its own", "A trip gained costs", "An hour saved costs", "Comes back at sale", "Paid back in years",
            "Remark")
    found = []
    for name in comparison.names:
        mine = [v for v in comparison.upgrades if v.candidate == name]
        shown = [v for v in mine if v.pays or v.variant == INSTRUMENT][:BEST]
        rest = [v for v in mine if v not in shown]
        rows = [_upgrade(v) for v in shown]
        if rest:
            words = "; ".join(f"{plain(v.variant)} {_net(v)}{f' ({v.note})' if v.note else ''}" for v in rest)
            rows.append((REST, *("–",) * 10, words))
        found.append(Table(f"{name}: with each upgrade, against without; what it does to risk is not valued here", head,
                           tuple(rows)))
    return found


def months(comparison: Comparison) -> Table | None:
    """Return trips completed by the month of the annual."""
    if not comparison.annual_months:
        return None
    rows = tuple((name, *(number(v, 1) for v in values)) for name, values in comparison.annual_months.items())
    return Table("Trips completed a year, by the month of the annual", ("Candidate", *month_names()), rows)


def hangar(lines: Mapping[str, Mapping[str, float]]) -> Table:
    """Return hangar against tie-down."""
    rows = tuple((name, in_usd(v['rent_saved_usd']), in_usd(v['wear_usd']),
                  in_usd(v['preheat_usd'], 10.0), in_usd(v['corrosion_usd'], 10.0),
                  f"{number(v['start_delay_h'], 1)} h",
                  in_usd(v['rent_saved_usd'] - v['wear_usd'] - v['preheat_usd'] - v['corrosion_usd']))
                 for name, v in lines.items())
    return Table("Tied down outside instead of in the hangar, a year",
                 ("Candidate", "Rent saved", "Paint, seals, avionics", "Heat on winter mornings", "Chance of corrosion",
                  "Frost delays", "Left over"), rows)


def _net(v: Any) -> str:
    net = v.net_cost_usd["mean"] or 0.0
    return ("−" if net < 0 else "+") + in_usd(abs(net), 10.0)


def _upgrade(v: Any) -> tuple[str, ...]:
    price = "–" if not v.price_usd["likely"] else in_usd(v.price_usd['likely'])
    gained = _signed(v.trips["mean"], 1) + ("" if _clear(v.trips) else " (may be chance)")
    return (plain(v.variant), price, number(v.downtime_days, 0), gained, _signed(v.door_to_door_hours["mean"], 0),
            _net(v), in_usd(v.own_usd, 10.0),
            "–" if v.usd_per_trip is None else in_usd(v.usd_per_trip, each_step(v.usd_per_trip)),
            "–" if v.usd_per_hour is None else in_usd(v.usd_per_hour, each_step(v.usd_per_hour)),
            in_usd(v.comes_back_usd) if v.comes_back_usd else "–",
            "–" if v.payback_years is None else number(v.payback_years, 1), v.note or v.what)


def _clear(measure: Mapping[str, Any]) -> bool:
    low, high = measure["low"], measure["high"]
    return low is not None and high is not None and (low > 0.0 or high < 0.0)


def _signed(value: float | None, decimals: int) -> str:
    return "–" if value is None else ("+" if value > 0 else "") + number(value, decimals)


def _from(found: Mapping[str, float | None]) -> str:
    if found["at"] is None:
        return "never"
    low, high = (number(found[k], 0) if found[k] is not None else "open" for k in ("low", "high"))
    return f"{number(found['at'], 0)} h ({low} to {high})"


def _figure(value: float | None) -> str:
    if value is None:
        return "–"
    return number(value, 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 3 if abs(value) < 1 else 2)
