"""Which trips are worth an aircraft at a published value of time, and which are not."""

from __future__ import annotations

from missionsim.report.answer_alternatives import worth_sentence
from missionsim.report.html import Section
from missionsim.report.tables import Table
from missionsim.report.wording import dollars, number
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.trip_worth import TripWorth, trip_worth


def trip_worth_section(comparison: Comparison) -> Section | None:
    """Return the trips: what flying each costs more than the other way, from what value of an hour on it pays."""
    rows = sorted(trip_worth(comparison), key=lambda r: (r.made_share == 0.0, r.at_usd_per_h is None,
                                                         r.at_usd_per_h or 0.0))
    if not rows:
        return None
    text = (worth_sentence(comparison),
            "A trip costs here what it adds: fuel, fees, nights, cars there, wear and value lost by the hour. What the "
            "aircraft costs anyway is not in it, so that it is worth buying only where such trips are many.")
    table = Table("Trip by trip, in years in which it is made", (
        "Trip", "To", "Made, years of 100", "Flying costs more", "Hours of all it saves, as valued",
        "Worth it from, an adult's hour"), tuple(_cells(r) for r in rows))
    return Section("trip-worth", "Which trips are worth flying", text, (), (table,))


def _cells(row: TripWorth) -> tuple[str, ...]:
    if row.more_usd is None:
        return (row.trip, ", ".join(row.to), "0", "–", "–", "never made")
    at = ("at none: dearer and no faster" if row.at_usd_per_h is None and row.more_usd > 0.0 else
          "cheaper and slower" if row.at_usd_per_h is None else
          "at any: cheaper and no slower" if row.at_usd_per_h == 0.0 else f"${dollars(row.at_usd_per_h, 1.0)}")
    return (row.trip, ", ".join(row.to), number(100.0 * row.made_share, 0), f"${dollars(row.more_usd, 10.0)}",
            number(row.saved_h), at)
