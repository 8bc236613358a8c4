"""What a check of files found, as lines and tables for people."""

from __future__ import annotations

from collections.abc import Sequence

from missionsim.aircraft.fit import FitLine
from missionsim.report.scope import beyond, scope_line
from missionsim.report.text_table import Sheet
from missionsim.report.wording import count, source_words
from missionsim.study.inputs.check import Checked, ProfileCheck, StudyCheck, TripsCheck
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.open_water import straight_water
from missionsim.year.demand import DemandLine
from missionsim.year.trips import LOGBOOK, TripTable, taken_for

MOST_SHOWN = 20


def check_sheets(checked: Sequence[Checked]) -> list[tuple[list[str], list[Sheet]]]:
    """Return, for each file in turn, lines to be said and tables to be shown below them."""
    return [part for item in checked for part in _of(item)]


def _of(item: Checked) -> list[tuple[list[str], list[Sheet]]]:
    if isinstance(item, ProfileCheck):
        return [(_profile_lines(item), _profile_sheets(item))]
    if isinstance(item, TripsCheck):
        return [(_list_lines(item), [*_unstitched(item.table), *_set_aside(item.table), *_to_paste(item)])]
    listed = item.study.listed
    return [(_study_lines(item), [*_unstitched(listed), *_set_aside(listed)] if listed else []),
            *((_profile_lines(p), _profile_sheets(p)) for p in item.aircraft)]


def _study_lines(item: StudyCheck) -> list[str]:
    study = item.study
    names = ", ".join(c.name for c in study.candidates)
    lines = [f"{item.file}: good", f"Study {study.name}: home {study.home.ident}, year {study.year}, "
             f"{study.replications} replications; candidates {names}"]
    covered = [*straight_water(study), scope_line(), *beyond(study)]
    if study.listed is None:
        told = [f"{m.name}: {_often(m.demand) if m.listed is None else count(len(m.listed), 'trip') + ' a year'}"
                for m in study.members] or [_often(study.demand)]
        return [*lines, *told, taken_as(study), _local(study), *study.notes, *covered]
    notes = [note for note in study.notes if note not in study.listed.notes]
    return [*lines, *_table_lines(study.listed), taken_as(study), _local(study), *notes, *covered]


def _often(demand: Sequence[DemandLine]) -> str:
    """Return how many kinds of trips somebody wants, and how often."""
    expected = sum(line.per_year for line in demand)
    return f"{count(len(demand), 'kind')} of trips, {expected:.0f} trips a year on average"


def _local(study: Study) -> str:
    """Return how much local flying is counted, and what the list would propose."""
    said = study.spec.local_hours_per_year
    hours = study.local_hours(study.pilot)
    text = f"Local and practice flying: {hours:g} h a year, " + (
        "as the study says." if said is not None else f"usual for this rating ({study.pilot.rating}); "
        "`local_hours_per_year` says otherwise, 0 leaves it out.")
    listed = 0.0 if study.listed is None else study.listed.local_h
    return text + (f" The list holds {listed:.1f} h of flights that land where they began: "
                   f"`local_hours_per_year: {listed:.1f}`." if listed > 0.0 and said is None else "")


def taken_as(study: Study) -> str:
    """Return what the trips of a study are taken for, why, and what is asked of whoever wrote them."""
    said = study.spec.trips_are is not None
    entry = study.assumptions.entry("trip.wanted_share")
    if study.trips_are == LOGBOOK:
        why = "as the study says" if said else "its rows are legs that were flown"
        return (f"Trips are taken as a logbook, {why}: all of them are wanted in every simulated year. A logbook holds "
                "only trips that went; add those that were cancelled or never begun, or an aircraft that could not "
                "make them looks as good as one that could.")
    why = "as the study says" if said else (
        "since it holds trips, not legs flown" if study.listed is not None or study.members else
        "since they are a forecast of how often")
    return (f"Trips are taken as a wish list, {why}: in each simulated year {10 * entry.low:.3g} to "
            f"{10 * entry.high:.3g} of 10 are really wanted, {10 * entry.value:.3g} as a rule, those with must_go "
            "always. Where all of them were made or cancelled for a reason of the day, say `trips_are: logbook`, and "
            "have the cancelled ones in it.")


def _table_lines(table: TripTable) -> list[str]:
    lines = [f"{len(table)} trips of {table.year} from {table.home}, {sum(t.legs for t in table)} legs"]
    if table.outside_year:
        lines.append(f"{table.outside_year} trips of other years left out")
    return [*lines, *table.notes]


def _list_lines(item: TripsCheck) -> list[str]:
    read = ", ".join(f"{ours} from {heading!r}" for ours, heading in item.columns.items())
    home = [item.home_note] if item.home_note else []
    taken = ("a logbook of what was flown: add the trips that were cancelled" if taken_for(item.table) == LOGBOOK else
             "a wish list, of which only a part is really wanted; `trips_are: logbook` where all of it was")
    return [f"{item.file}: good", *_table_lines(item.table), *home, f"columns: {read}", f"It is taken as {taken}."]


def _to_paste(item: TripsCheck) -> list[Sheet]:
    return [Sheet("Lines of a study that read this list so; they can be pasted", (), (), item.study_lines)]


def _set_aside(table: TripTable) -> list[Sheet]:
    if not table.set_aside:
        return []
    rows = tuple((str(s.line), s.what, s.why) for s in table.set_aside[:MOST_SHOWN])
    more = len(table.set_aside) - len(rows)
    below = (f"and {more} more",) if more else ()
    return [Sheet("Rows set aside: no trips", ("line", "what it says", "why"), rows, below)]


def _unstitched(table: TripTable) -> list[Sheet]:
    if not table.unstitched:
        return []
    rows = tuple((str(u.line), u.when.isoformat(), u.from_place, u.to_place, u.why)
                 for u in table.unstitched[:MOST_SHOWN])
    more = len(table.unstitched) - len(rows)
    below = (f"and {more} more",) if more else ()
    return [Sheet("Legs that make no trip from home to home", ("line", "date", "from", "to", "why"), rows, below)]


def _profile_lines(item: ProfileCheck) -> list[str]:
    profile = item.profile
    form = "flies by its flight manual's tables" if profile.form == "handbook" else "is fitted to its book figures"
    balance = "" if profile.envelope else "; no envelope: balance is not checked"
    return [f"{item.file}: good", *(f"Questioned: {doubt}" for doubt in item.doubts), *_one_engine(item),
            f"{profile.name} {form}; empty {item.empty_lb:,.0f} lb, useful load "
            f"{item.useful_lb:,.0f} lb, with full tanks ({profile.usable_gal:g} gal) "
            f"{item.full_fuel_payload_lb:,.0f} lb for people and bags{balance}"]


def _one_engine(item: ProfileCheck) -> list[str]:
    found = item.one_engine
    if found is None:
        return []
    low, likely, high = found.accelerate_stop_ft
    return [f"On one engine at full weight types like it climb {found.climb_fpm:,.0f} ft/min and hold "
            f"{found.ceiling_ft:,.0f} ft; accelerate-stop {likely:,.0f} ft ({low:,.0f} to {high:,.0f}). Information, "
            "no limit of the plans; the flight manual decides. It needs a multi-engine rating."]


def _shows(line: FitLine) -> str:
    if line.origin == "class guess":
        return "class guess"
    return "fitted" if line.used_in_fit else "check"


def _filled(item: ProfileCheck) -> tuple[tuple[str, str], ...]:
    return tuple((key, item.profile.in_words(key)) for key in item.profile.class_guesses)


def _profile_sheets(item: ProfileCheck) -> list[Sheet]:
    fit = tuple((f.figure, f.unit, f"{f.book:,.6g}", f"{f.predicted:,.1f}", f"{f.residual:+,.1f}",
                 f"{f.residual_share:+.1%}", _shows(f)) for f in item.fit)
    parts = tuple((d.name, f"{d.value:,.3g}", d.unit, "assumed" if d.assumed else "derived") for d in item.derived)
    opened = tuple((o.label, o.taken, source_words(o.source)) for o in item.open)
    sheets = [
        Sheet("Book figures against the prediction",
              ("figure", "unit", "book", "predicted", "off by", "share", "what it shows"), fit,
              ("fitted: the form was made to meet it, so it shows nothing; check: kept back from the fit;"
               " class guess: nobody gave it",)),
        Sheet("What the fit gave and what it had to assume", ("quantity", "value", "unit", ""), parts),
        Sheet("What the advertisement leaves open: drawn anew in every simulated year",
              ("figure", "taken as", "source"), opened,
              ("Ask the seller; `compare` says which answer is worth most.",)),
        Sheet("Figures nobody gave: filled with those of the likely aircraft of its class", ("figure", "filled with"),
              _filled(item),
              ("Those of the table above among them are drawn anew in every simulated year; the others stay.",)),
    ]
    return [sheet for sheet in sheets if sheet.rows]
