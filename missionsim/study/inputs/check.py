"""Check files a user wrote: aircraft profiles, studies and trip lists; every fault of all of them at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import numpy as np

from missionsim.aircraft.doubts import OneEngine, doubts, one_engine
from missionsim.aircraft.fit import Derived, FitLine, derived, fit_report
from missionsim.aircraft.loading import empty_weight_lb, fuel_lb_per_gal
from missionsim.aircraft.performance import performance_of
from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions, packaged_assumptions
from missionsim.base.errors import Fault, InputError, ValidityError, near_match
from missionsim.money.cost_profile import cost_profile
from missionsim.study.inputs.beyond_weather import STATION_FILE, beyond_weather
from missionsim.study.inputs.columns import ColumnMap, study_lines, suggested_columns
from missionsim.study.inputs.csv_text import CsvTable, head_of, read_table
from missionsim.study.inputs.kinds import key_counts
from missionsim.study.inputs.load_aircraft import load_profile, misfit
from missionsim.study.inputs.load_study import Study, load_study
from missionsim.study.inputs.other_files import TABLES, read_table_text
from missionsim.study.inputs.places import places_in
from missionsim.study.inputs.trip_list import COLUMNS, ROUTES, ListContext, ListFormat, read_trips
from missionsim.study.inputs.yaml_lines import read_yaml
from missionsim.study.unknowns.draws import Listing, Unsaid
from missionsim.world.airports.table import Airport, AirportTable
from missionsim.year.trips import TripTable, taken_for


@dataclass(frozen=True, slots=True)
class Open:
    """One figure the advertisement leaves open: what it is, what is said of it, and what is taken in its place."""

    key: str
    label: str
    taken: str
    source: str


@dataclass(frozen=True, slots=True)
class ProfileCheck:
    """An aircraft that passed. `fit` and `derived` are as `aircraft.fit` gives them."""

    file: str
    profile: Profile
    empty_lb: float
    fit: tuple[FitLine, ...]
    derived: tuple[Derived, ...]
    open: tuple[Open, ...]
    lb_per_gal: float
    doubts: tuple[str, ...] = ()
    one_engine: OneEngine | None = None

    @property
    def useful_lb(self) -> float:
        """Take-off limit less empty weight. [lb]"""
        return self.profile.max_takeoff_lb - self.empty_lb

    @property
    def full_fuel_payload_lb(self) -> float:
        """What people and bags may weigh with full tanks. [lb]"""
        return self.useful_lb - self.profile.usable_gal * self.lb_per_gal


@dataclass(frozen=True, slots=True)
class TripsCheck:
    """A trip list that passed."""

    file: str
    table: TripTable
    columns: Mapping[str, str] = field(default_factory=dict)
    """Our column to the heading it was read from."""
    study_lines: tuple[str, ...] = ()
    """Lines of a study that read the list so."""
    home_note: str = ""


@dataclass(frozen=True, slots=True)
class StudyCheck:
    """A study that passed, with the aircraft it names."""

    file: str
    study: Study
    aircraft: tuple[ProfileCheck, ...] = field(default=())


Checked = ProfileCheck | TripsCheck | StudyCheck


@dataclass(frozen=True, slots=True)
class ListHints:
    """How to read a trip list that is checked by itself.

    Parameters
    ----------
    home : str or None         Its home; None is the place its first row leaves.
    rows : str or None         What one of its rows is; None is found from where the rows start.
    columns : mapping          Our column to the list's own heading.
    """

    home: str | None = None
    rows: Literal["trips", "legs"] | None = None
    columns: Mapping[str, str] = field(default_factory=dict)


def check_files(files: Sequence[str], hints: ListHints | None = None) -> tuple[Checked, ...]:
    """Return what was found in files that are all good.

    Parameters
    ----------
    files : sequence of str    Aircraft profiles and studies (YAML), trip lists (CSV and its kin).
    hints : ListHints, optional

    Raises
    ------
    InputError                 Every fault of every readable file.
    """
    a = packaged_assumptions()
    checked: list[Checked] = []
    faults: list[Fault] = []
    for name in files:
        try:
            checked.append(_checked(name, a, hints or ListHints()))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(dict.fromkeys(faults))
    return tuple(checked)


def _checked(name: str, a: Assumptions, hints: ListHints) -> Checked:
    suffix = Path(name).suffix.lower()
    if suffix in TABLES:
        return _trips(name, a, hints)
    if suffix not in {".yaml", ".yml"}:
        raise InputError([Fault(name, "", f"ends in {suffix}", "a .yaml file of an aircraft or a study, or a .csv, "
                                ".xlsx or .ics file of trips")])
    document = read_yaml(Path(name), name)
    study, profile = key_counts(document)
    if study == profile:
        raise InputError([Fault(name, "", "is neither a study nor an aircraft profile", "a study with home, trips and "
                                "candidates, or an aircraft with weights, stations, tanks and engine", "", 1)])
    if study > profile:
        return _study(name)
    return check_profile(name, load_profile(Path(name), name)[0], a, int(a["trip.year"]))


def _study(name: str) -> StudyCheck:
    study = load_study(name)
    found: list[ProfileCheck] = []
    faults: list[Fault] = []
    for candidate in study.candidates:
        try:
            found.append(check_profile(candidate.file, candidate.profile, study.assumptions, study.year))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    return StudyCheck(name, study, tuple(found))


def check_profile(file: str, profile: Profile, assumptions: Assumptions, year: int) -> ProfileCheck:
    """Return the fit of a profile, what it left to be derived, and what the advertisement leaves open.

    Parameters
    ----------
    file : str   Named in faults.
    profile : Profile
    assumptions : Assumptions
    year : int   Calendar year.

    Raises
    ------
    InputError   The figures cannot belong to one aircraft.
    """
    try:
        performance_of(profile, assumptions)
        fit, parts = fit_report(profile, assumptions), derived(profile, assumptions)
    except ValidityError as error:
        raise InputError([misfit(file, profile, error)]) from None
    listing = Listing.of(profile, year, assumptions)
    taken, of_class = taken_as(listing), f"the class: {profile.class_words}"
    opened = tuple(Open(f.key, f.label, taken[f.key],
                        _CLAIMED if f.key == "state.cruise_speed_of_book_share" and f.key in profile.class_guesses else
                        of_class if f.key in profile.class_guesses else
                        "the advertisement" if f.range is not None else
                        assumptions.entry("unknown." + f.key.replace(".", "_")).source) for f in listing.unsaid)
    return ProfileCheck(file, profile, empty_weight_lb(profile, assumptions), tuple(fit), tuple(parts), opened,
                        fuel_lb_per_gal(profile, assumptions),
                        (*doubts(profile, assumptions), *_asked(profile, year, assumptions)),
                        one_engine(profile, assumptions))


def _asked(profile: Profile, year: int, assumptions: Assumptions) -> tuple[str, ...]:
    """Return what is to be said of a price that such aircraft do not bring."""
    value = cost_profile(profile, year, assumptions).market_value
    return () if value is None or not value.finding else (value.finding,)


_CLAIMED = "common practice: claimed without level or power"
_LOOKED_AT = range(400)
"""Draws from which it is told what an open figure is taken as: the figures themselves, not the priors behind them."""


def taken_as(listing: Listing) -> dict[str, str]:
    """Return what each open figure of a listing is drawn as, in words: low, high and likely, or shares of words."""
    drawn = listing.drawn(1, _LOOKED_AT)
    return {figure.key: _in_words(figure, drawn.values[figure.key]) for figure in listing.unsaid}


def _in_words(figure: Unsaid, values: Array) -> str:
    if figure.categories:
        shares = [(word, float(np.mean(values == code))) for code, word in enumerate(figure.categories)]
        return ", ".join(f"{word.replace('_', ' ')} {share:.0%}" for word, share in shares)
    said = figure.range
    low, likely, high = np.quantile(values, (0.1, 0.5, 0.9)) if said is None else (said.low, said.likely, said.high)
    unit = "" if figure.unit in ("year", "$") else figure.unit
    text = f"{_figure(figure, low)} to {_figure(figure, high)} {unit}".strip()
    return f"{text}, likely {_figure(figure, likely)}"


def _figure(figure: Unsaid, value: float) -> str:
    if figure.unit == "year":
        return f"{value:.0f}"
    if figure.unit == "$":
        return f"${value:,.0f}"
    if figure.key.endswith("_share"):
        return f"{value:.0%}"
    if figure.key.endswith("_gph"):
        return f"{value:.1f}"
    return f"{value:,.0f}"


def _trips(name: str, a: Assumptions, hints: ListHints) -> TripsCheck:
    file = read_table_text(Path(name), name)
    _known_columns(hints)
    airports = AirportTable.packaged(a)
    headings, below = head_of(file)
    suggested = suggested_columns(headings, below, airports.find, airports.in_town)
    told = {**hints.columns}
    columns = told | {ours: heading for ours, heading in suggested.renamed().items()
                      if ours not in told and heading not in told.values()}
    table = read_table(file, COLUMNS, ("date", "to"), columns, None)
    home, note = _home_of(name, table, hints, airports)
    starts = {row.get("from") for row in table.rows if row.get("from")}
    kind = hints.rows or ("legs" if len(starts) > 1 or (not hints.columns and suggested.rows == "legs") else "trips")
    unflyable = beyond_weather([], a)
    if why := unflyable(home):
        raise InputError([Fault(name, "home", f"{home.ident}: {why}", STATION_FILE)])
    context = ListContext(home.ident, home.timezone, airports.find, a, towns=airports.in_town, unflyable=unflyable)
    trips = read_trips(file, ListFormat(columns, kind), context)
    used = ColumnMap(dict(table.headings), kind)
    lines = study_lines(Path(name).name, home.ident, trips.year, used, taken_for(trips), trips.local_h)
    return TripsCheck(name, trips, used.columns, lines, note)


def _known_columns(hints: ListHints) -> None:
    odd = [key for key in hints.columns if key not in COLUMNS]
    if odd:
        raise InputError([Fault("--column", key, "no such column", ", ".join(COLUMNS), near_match(key, COLUMNS))
                          for key in odd])


def _home_of(name: str, table: CsvTable, hints: ListHints, airports: AirportTable) -> tuple[Airport, str]:
    """Return the home airport, and how it was found where nobody said it."""
    if hints.home is not None:
        return _airport(name, "home", hints.home, airports)
    starts = Counter(row.get("from") for row in table.rows if row.get("from"))
    routes = Counter(row.get("to").split()[0].split("-")[0] for row in table.rows if row.get("to"))
    if not starts and table.headings.get("to", "").lower() in ROUTES:
        starts = routes
    if not starts:
        raise InputError([Fault(name, "", "does not say where the trips start", "a column `from`, --home with the "
                                "airport, or a check of the study that names this list")])
    (most, count), total = starts.most_common(1)[0], starts.total()
    home, note = _airport(name, "from", most, airports)
    where = f"home is read as {home.ident}, where {count} of {total} rows start; --home says another"
    return home, f"{where}; {note}" if note else where


def _airport(name: str, key: str, text: str, airports: AirportTable) -> tuple[Airport, str]:
    """Return the airport that somebody names, and what is to be said of a town's."""
    found = places_in(text, airports.find, airports.in_town)
    if not found.airports:
        raise InputError([Fault(name, key, f"no airport {text!r:.60} is known", "an ICAO, FAA or IATA identifier, or a "
                                "town such as `Omaha, NE`", found.near)])
    return found.airports[0], "; ".join(found.notes)


def check_json(checked: Sequence[Checked]) -> dict[str, Any]:
    """Return what was found as plain data: one entry a file."""
    return {"files": [_as_data(item) for item in checked]}


def _as_data(item: Checked) -> dict[str, Any]:
    if isinstance(item, ProfileCheck):
        return _profile_data(item)
    if isinstance(item, TripsCheck):
        return {"file": item.file, "kind": "trips", **_table_data(item.table), "columns": dict(item.columns),
                "study_lines": list(item.study_lines)}
    study = item.study
    trips = {} if study.listed is None else _table_data(study.listed)
    return {"file": item.file, "kind": "study", "study": study.name, "home": study.home.ident, "year": study.year,
            "replications": study.replications, "trips_are": study.trips_are, "trips": trips,
            "demand_lines": len(study.demand),
            "candidates": [c.name for c in study.candidates], "notes": list(study.notes),
            "aircraft": [_profile_data(p) for p in item.aircraft]}


def _table_data(table: TripTable) -> dict[str, Any]:
    return {"home": table.home, "year": table.year, "trips": len(table), "legs": sum(t.legs for t in table),
            "from_logbook": table.from_logbook, "trips_are": taken_for(table),
            "outside_year": table.outside_year, "notes": list(table.notes),
            "unstitched": [{"line": u.line, "date": u.when.isoformat(), "from": u.from_place, "to": u.to_place,
                            "why": u.why} for u in table.unstitched],
            "set_aside": [{"line": s.line, "what": s.what, "why": s.why} for s in table.set_aside],
            "local_flights": table.local_flights, "local_h": round(table.local_h, 2)}


def _profile_data(item: ProfileCheck) -> dict[str, Any]:
    return {
        "file": item.file, "kind": "aircraft", "name": item.profile.name, "form": item.profile.form,
        "empty_weight_lb": round(item.empty_lb, 1), "useful_load_lb": round(item.useful_lb, 1),
        "full_fuel_payload_lb": round(item.full_fuel_payload_lb, 1),
        "balance_checked": item.profile.envelope is not None,
        "fit": [{"figure": f.figure, "unit": f.unit, "book": f.book, "predicted": round(f.predicted, 3),
                 "residual": round(f.residual, 3), "residual_share": round(f.residual_share, 5),
                 "used_in_fit": f.used_in_fit} for f in item.fit],
        "derived": [{"name": d.name, "value": round(d.value, 5), "unit": d.unit, "assumed": d.assumed}
                    for d in item.derived],
        "questioned": list(item.doubts),
        "origin": item.profile.origins_of_figures(),
        "unknown": [{"key": o.key, "label": o.label, "taken": o.taken, "source": o.source} for o in item.open],
    }
