"""The part of the report on trips not made over all years."""

from __future__ import annotations

from missionsim.report.html import Section
from missionsim.report.refusals import trip_title
from missionsim.report.tables import Table
from missionsim.report.wording import number, plain
from missionsim.study.compare.compare import Comparison
from missionsim.study.explain.refusals import RefusedTrip

TITLE = "Trips not made, over all years"
OFTEN_SHARE = 0.5
"""Trips not made in at least this share of the years stand in the table; each trip has all of its own."""
TEXT = ("Shares are of all simulated years that wanted the trip; a year broken off counts as not made. Margins come "
        "from a few of these years flown again and judged exactly; the smallest change takes the most frequent reason "
        "away by the worst of these margins, and other reasons may remain. A change of hour is one nobody looked at, "
        "since the forecast did not ask for it.",)


OF_GENERATED = ("Each simulated year has trips of its own, since the study says where one goes how often and lists no "
                "trips: none can be told over the years, and refusals.csv has its headings alone. Why trips were not "
                "made stands by reason and by month; a list of the trips of one year is told trip by trip.",)


def refusals_section(comparison: Comparison) -> Section | None:
    """Return the section on trips not made, a table of those that some candidate seldom makes."""
    if comparison.study.listed is None:
        return Section("refusals", TITLE, OF_GENERATED)
    if not comparison.refusals:
        return None
    head = ("Trip", "Candidate", "Not made in years", "Most often for", "Short by, as a rule and at worst",
            "The smallest change")
    trips = comparison.prepared.table
    rows = tuple((trip_title(trips[x.trip]), x.candidate, f"{x.not_made} of {x.years_wanted}", _reasons(x), _margins(x),
                  x.change.words) for x in comparison.refusals if x.share >= OFTEN_SHARE)
    judged = max(x.judged for x in comparison.refusals)
    text = (*TEXT, f"At most {judged} years a trip were judged. Listed are trips not made in half of the years or "
                   "more; what each candidate does with any other trip stands under One trip at a time, and in "
                   "refusals.csv.")
    return Section("refusals", TITLE, text, (),
                   (Table("Trips seldom made, by trip and candidate", head, rows),) if rows else ())


def _reasons(x: RefusedTrip) -> str:
    return ", ".join(f"{plain(str(r.reason))} {100.0 * r.share:.0f} %" for r in x.reasons[:3])


def _margins(x: RefusedTrip) -> str:
    return "; ".join(f"{plain(str(m.reason))} {_short(m.typical)} to {_short(m.worst)} {m.unit}" for m in x.margins[:2])


def _short(value: float) -> str:
    return number(value, 0 if value >= 10.0 else 1)
