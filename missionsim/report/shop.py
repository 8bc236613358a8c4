"""The shop: days without the aircraft, trips lost to it and nights away for it, beside what owners tell."""

from __future__ import annotations

from missionsim.report.html import Section
from missionsim.report.tables import Table
from missionsim.report.wording import number
from missionsim.study.compare.compare import Comparison, Result

TEXT = ("Faults ground an aircraft when somebody looks at it before a flight, after a landing or, seldom, in flight. "
        "What is mended in time only puts a trip off. A party away stays as long as it planned, and goes home "
        "otherwise when the repair takes longer than its return may wait; the aircraft is mended where it stands, or "
        "ferried home empty by special permit. The annual is booked between trips and takes what it takes.",
        "Owners tell, weakly: 20 to 35 days a year without a single flown 100 h, 35 to 60 without a twin; 2 to 4 % of "
        "a single's trips late or lost for the machine; stranded once in 80 to 150 trips. Nothing is fitted to that.")


def shop_section(comparison: Comparison) -> Section:
    """Return the section on what the shop takes."""
    head = ("Candidate", "Days in the shop", "Trips lost to it", "of those wanted", "Stranded away, one in",
            "Nights away for it")
    return Section("shop", "What the shop takes", TEXT, (), (Table(
        "Mean of a simulated year; trips refused or broken off for maintenance", head,
        tuple(_row(result) for result in comparison.results)),))


def _row(result: Result) -> tuple[str, ...]:
    days, lost, wanted, stranded, nights = (float(result.measures[name]["mean"] or 0.0) for name in (
        "shop_days", "trips_lost_to_shop", "trips_wanted", "stranded", "nights_stranded"))
    flown = wanted * float(result.measures["completed_share"]["mean"] or 0.0) + stranded
    return (result.name, number(days, 0), number(lost, 1), f"{100.0 * lost / wanted:.1f} %" if wanted else "–",
            f"{flown / stranded:,.0f} trips" if stranded else "never", number(nights, 1))
