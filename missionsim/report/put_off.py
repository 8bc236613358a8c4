"""What weather puts off, beside what owners tell, as a part of the report."""

from __future__ import annotations

from missionsim.report.html import Section
from missionsim.report.tables import Table
from missionsim.report.wording import count, number, percent
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.put_off import REGION_OF, PutOff, experience, put_off, years_put_off

HEAD = ("Season", "At the planned hour", "Within the trip's hours", "Within a day", "Either end below minima, alone",
        "Owners tell, at the planned hour")
CAUTION = ("Flights that met less than the legal minima on the way are broken off and never count as made. Going on "
           "into them is how people get hurt: no figure here says that it can be done.")


def put_off_section(comparison: Comparison) -> Section | None:
    """Return a table for each candidate of trips that weather keeps from leaving; a few years are looked at again."""
    years = years_put_off(comparison.prepared, comparison.replications)
    found = put_off(comparison.prepared, years) if comparison.put_off is None else comparison.put_off
    if not found:
        return None
    names = tuple(dict.fromkeys(f.candidate for f in found))
    tables = tuple(_table(comparison, name, [f for f in found if f.candidate == name]) for name in names)
    return Section("put-off", "How often weather keeps trips from leaving", _text(comparison, found, len(years)), (),
                   tables)


def _text(comparison: Comparison, found: tuple[PutOff, ...], years: int) -> tuple[str, ...]:
    region = REGION_OF.get(comparison.study.home.region)
    home = comparison.study.home.ident
    told = (f"Owners' figures are judgement about trips of 200 to 400 nm in the region of {home} ({region}); yours are "
            "of other lengths" if region else "Owners of this region tell nothing that is known")
    text = [
        f"Weather alone, on the way out, in {count(years, 'simulated year')}: trips that cannot leave at the planned "
        "hour, in any of the trip's own hours, and until a day after plan as far as the trip waits. What the aircraft "
        "cannot do in any weather is not in it. The fifth column is the weather of both ends at that hour, whatever "
        f"was forecast and lies between. {told}. Nothing is fitted to them. Raw reports of two ends alone, at 1,000 ft "
        "and 3 sm in a fixed morning window, are too low on 36 % of winter and 21 % of summer days."]
    if comparison.study.pilot.rating == "visual":
        turned, met = (max(getattr(f, name) for f in found) for name in ("turned_share", "met_below_per_1000"))
        text.append(f"Of flights begun at the planned hour up to {percent(turned)} turn back or land short, and up to "
                    f"{number(met)} of 1,000 meet less than the legal minima on the way. {CAUTION}")
    return tuple(text)


def _table(comparison: Comparison, name: str, found: list[PutOff]) -> Table:
    profile = next(c.profile for c in comparison.study.candidates if c.name == name)
    pilot = comparison.study.pilot
    protected = profile.panel.ice_protection == "approved" and profile.engine.aspiration != "normal"
    rows = []
    for f in found:
        told = experience(comparison.study.home.region, instrument=pilot.rating == "instrument",
                          winter=f.season == "winter", protected=protected)
        rows.append((f"{f.season}, {count(f.trips, 'trip')}", *(percent(s) for s in (*f.shares, f.ends_share)),
                     f"{told} %" if told else "-"))
    return Table(f"{name}: trips that weather keeps from leaving", HEAD, tuple(rows))
