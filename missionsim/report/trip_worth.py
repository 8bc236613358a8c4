"""Which trips are worth an aircraft at a value of time, and which are not."""

from __future__ import annotations

from missionsim.report.answer_alternatives import worth_sentence
from missionsim.report.html import Section
from missionsim.report.refusals import trip_title
from missionsim.report.tables import Table
from missionsim.report.wording import in_usd, number
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.trip_worth import TripWorth, trip_worth


def trip_worth_section(comparison: Comparison) -> Section | None:
    """Return the trips: what flying each costs more than the other way, from what value of an hour on it pays."""
    worth = trip_worth(comparison)
    if not worth:
        return None
    wanted = comparison.results[comparison.lead].tally.by_trip.sum(axis=1)
    rows = sorted(zip(comparison.prepared.table, wanted, worth, strict=True), key=lambda row: _order(row[2]))
    text = (worth_sentence(comparison),
            "A trip costs here what it adds: fuel, fees, nights, cars there, wear and value lost by the hour. What the "
            "aircraft costs anyway is not in it, so that it is worth buying only where such trips are many.")
    table = Table("Trip by trip, in years in which it is made", (
        "Trip", "To", "Made, of years that wanted it", "Flying costs more", "Hours of all it saves, as valued",
        "Worth it from, an adult's hour"),
        tuple(_cells(trip_title(trip), comparison.replications, int(years), row) for trip, years, row in rows))
    return Section("trip-worth", "Which trips are worth flying", text, (), (table,))


def _order(row: TripWorth) -> tuple[bool, bool, bool, float]:
    """Return by what a trip stands: worth it soonest first, then at no value, then left open, never made last."""
    return row.made_share == 0.0, not row.counted, row.at_usd_per_h is None, row.at_usd_per_h or 0.0


def _cells(title: str, replications: int, wanted: int, row: TripWorth) -> tuple[str, ...]:
    made = f"{number(row.made_share * replications, 0)} of {wanted}"
    if row.more_usd is None:
        return (title, ", ".join(row.to), made, "–", "–", "never made")
    at = ("left open: rarely made" if not row.counted else
          "at none: dearer and no faster" if row.at_usd_per_h is None and row.more_usd > 0.0 else
          "cheaper and slower" if row.at_usd_per_h is None else
          "at any: cheaper and no slower" if row.at_usd_per_h == 0.0 else in_usd(row.at_usd_per_h, 1.0))
    return (title, ", ".join(row.to), made, in_usd(row.more_usd, 10.0), number(row.saved_h), at)
