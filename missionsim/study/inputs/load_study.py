"""Load a study: read it and every file it names, check all of them, and report every fault at once."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from missionsim.base.assumptions import Assumptions, packaged_assumptions
from missionsim.base.errors import Fault, InputError, MissionsimError, near_match
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.study.inputs.beyond_weather import beyond_weather
from missionsim.study.inputs.faults import faults_of, salvaged
from missionsim.study.inputs.files import demo_folder, is_file, neighbour, read_text
from missionsim.study.inputs.kinds import refuse_aircraft
from missionsim.study.inputs.load_aircraft import Candidate, as_flown, load_candidate, load_rental, unique_names
from missionsim.study.inputs.load_airports import load_airports
from missionsim.study.inputs.load_members import MemberTrips, load_members, load_requests
from missionsim.study.inputs.load_trips import TripListRead, demand_lines, load_trip_list
from missionsim.study.inputs.overlays import Layers, read_layers
from missionsim.study.inputs.reading import StudyReading
from missionsim.study.inputs.schema import CandidateSpec, Destination, Pilot, StudySpec, TripFile
from missionsim.world.airports.table import Airport, AirportTable
from missionsim.world.surface.place_climate import OwnStation
from missionsim.world.surface.station_file import read_station
from missionsim.year.demand import DemandLine, generate
from missionsim.year.hire_requests import RequestLine
from missionsim.year.trips import TripTable, taken_for

FROM_ASSUMPTIONS = ("total_h", "retractable_h", "age", "weight_lb", "gear_lb", "ceiling_addition_ft",
                    "visibility_addition_sm", "visual_ceiling_ft", "visual_visibility_sm", "reserve_min", "max_leg_h",
                    "max_leg_alone_h", "max_duty_h", "chance_missing_share", "chance_both_below_share",
                    "chance_visual_share")
"""Figures of the pilot that the group `pilot` of the assumptions fills in."""


@dataclass(frozen=True)
class Study:
    """Everything a study says, validated, with every file it names read.

    Parameters
    ----------
    spec : StudySpec                 The study file as validated.
    file : str                       As the user named it.
    home : Airport
    year : int                       Local calendar year of home.
    seed, replications : int
    pilot : Pilot                    Figures filled in from the assumptions, except hours in type and the daily flight
                                     hours, which depend on the aircraft.
    airports : AirportTable          With the user's corrections.
    assumptions : Assumptions        With the user's values.
    candidates : tuple of Candidate
    listed : TripTable or None       The trip list; None where demand is generated.
    demand : tuple of DemandLine     Empty where trips are listed.
    weather_files : mapping          Identifier to station file.
    own_stations : mapping           Airport to the climate read from its file.
    notes : tuple of str             How things were read, for the reader of the result.
    hashes : mapping                 File as named to sha256.
    members : tuple of MemberTrips   Of a partnership, with their own trips; then there are no others.
    requests : tuple of RequestLine  Flights others ask for.
    path : Path or None              Of the study file; None for the packaged demo and for a study made in a program.
    texts : mapping                  What a study made in a program would hold as files, by name.
    rented : Candidate or None       The aircraft that can be rented, where the study names one.
    """

    spec: StudySpec
    file: str
    home: Airport
    year: int
    seed: int
    replications: int
    pilot: Pilot
    airports: AirportTable = field(repr=False)
    assumptions: Assumptions = field(repr=False)
    candidates: tuple[Candidate, ...]
    listed: TripTable | None
    demand: tuple[DemandLine, ...] = ()
    weather_files: Mapping[str, Path] = field(default_factory=dict)
    own_stations: Mapping[str, OwnStation] = field(default_factory=dict, repr=False)
    notes: tuple[str, ...] = ()
    hashes: Mapping[str, str] = field(default_factory=dict)
    members: tuple[MemberTrips, ...] = ()
    requests: tuple[RequestLine, ...] = ()
    path: Path | None = field(default=None, repr=False)
    texts: Mapping[str, str] = field(default_factory=dict, repr=False)
    rented: Candidate | None = None

    @property
    def trips_are(self) -> str:
        """Return what the trips are taken for: as the study says, else `logbook` where legs flown were read."""
        return self.taken_for(self.listed)

    def taken_for(self, table: TripTable | None) -> str:
        """Return what a list of trips in this study is taken for; None for trips that are generated."""
        return self.spec.trips_are or taken_for(table)

    def local_hours(self, pilot: Pilot) -> float:
        """Return the hours a year of local flying of a pilot: as the study says, else the usual ones of the rating."""
        if self.spec.local_hours_per_year is not None:
            return self.spec.local_hours_per_year
        return float(self.assumptions["local.hours_per_year"][pilot.rating])

    @property
    def name(self) -> str:
        """The study's name."""
        return self.spec.study

    @property
    def most_trips(self) -> float:
        """Trips of a year at most: as many as are listed; no bound where each year draws its own."""
        return math.inf if self.listed is None else float(len(self.listed))

    def trips(self, replication: int) -> TripTable:
        """Return the trips of a replication: the list, the same each year, or that year's generated ones."""
        if self.listed is not None:
            return self.listed
        if self.members:
            raise InputError([Fault(self.file, "members", "the trips of this study are its members'",
                                    "the command `partners`, or a study with `trips` or `demand`")])
        streams = [generator(self.seed, replication, Stream.DEMAND, i) for i in range(len(self.demand))]
        return generate(self.demand, self.home.ident, self.year, self.assumptions, streams)

    def with_(self, **changes: Any) -> Study:
        """Return the study with some keys changed, checked again; see `study.inputs.make_study.changed`."""
        from missionsim.study.inputs.make_study import changed  # noqa: PLC0415  (it loads studies)
        return changed(self, **changes)

    def type_h(self, candidate: str) -> float:
        """Return the pilot's hours in a candidate's type. [h]."""
        hours = self.pilot.type_h or {}
        return float(hours.get(candidate, hours.get("every", self.assumptions["pilot.type_h"])))


def load_study(path: Path | str | None = None) -> Study:
    """Read and check a study and every file it names.

    Parameters
    ----------
    path : path, optional   The study file; None is the packaged demo.

    Returns
    -------
    Study

    Raises
    ------
    InputError              Every fault of every readable file at once, each with file and line.
    """
    layers = read_layers(demo_folder() / "studies" / "buyer.yaml", "buyer.yaml") if path is None \
        else read_layers(Path(path), str(path))
    faults: list[Fault] = []
    spec = _spec(layers, faults)
    assumptions = study_assumptions(layers, faults)
    if spec is not None:
        assumptions = spec.waking_hours.over(assumptions)
    airports = load_airports(layers, assumptions, faults)
    reading = StudyReading(layers, airports, assumptions, faults=faults)
    home = reading.home = _home(reading)
    candidates = _candidates(layers, assumptions, faults)
    weather, stations = ({}, {}) if spec is None else _weather_files(layers, spec, airports, faults)
    reading.unflyable = beyond_weather(list(stations.values()), assumptions)
    if home is not None:
        reading.check_weather(("home",), home)
    listed = _listed(reading, spec)
    demand = _demand(reading)
    if spec is None or home is None:
        raise InputError(_once(faults))
    _check_places(reading, spec)
    _check_type_hours(layers, spec, candidates, faults)
    members, hashes, read = load_members(reading, spec, lambda pilot: filled(pilot, assumptions))
    requests = load_requests(reading, spec, home)
    rented = None if spec.rent_aircraft is None else load_rental(layers, spec.rent_aircraft, assumptions, faults)
    if faults:
        raise InputError(_once(faults))
    flown = [as_flown(c, spec.mixture, spec.oxygen) for c in candidates]
    notes = (*(n for d in layers.documents for n in d.file.notes), *(note for _, note in flown if note),
             *(listed.table.notes if listed else ()), *read)
    return Study(spec, layers.name, home, _year(spec, listed, members, assumptions), spec.seed, spec.replications,
                 filled(spec.pilot, assumptions), airports, assumptions, tuple(c for c, _ in flown),
                 listed.table if listed else None, demand, weather, stations, tuple(dict.fromkeys(notes)),
                 _hashes(layers, candidates, listed) | hashes, members, requests,
                 None if path is None else Path(path), rented=rented)


def _once(faults: list[Fault]) -> list[Fault]:
    return list(dict.fromkeys(faults))


def _spec(layers: Layers, faults: list[Fault]) -> StudySpec | None:
    try:
        return StudySpec.model_validate(layers.data)
    except ValidationError as error:
        refuse_aircraft(layers.documents[0])
        faults += faults_of(error, layers, StudySpec)
        return None


def study_assumptions(layers: Layers, faults: list[Fault]) -> Assumptions:
    """Return the packaged assumptions with those that a study replaces; as packaged, and a fault, where it may not.

    Parameters
    ----------
    layers : Layers          The study file and those it extends.
    faults : list of Fault   Added to.
    """
    values = layers.data.get("assumptions")
    packaged = packaged_assumptions()
    if not isinstance(values, dict):
        return packaged
    try:
        return packaged.replaced({str(k): v for k, v in values.items()})
    except InputError as error:
        for fault in error.faults:
            key = fault.key.removeprefix("assumptions.")
            faults.append(layers.fault(("assumptions", key), fault.what, fault.accepted, fault.near))
        return packaged


def _home(reading: StudyReading) -> Airport | None:
    ident = reading.layers.data.get("home")
    return reading.found(("home",), ident) if isinstance(ident, str) and len(ident) > 1 else None


def _candidates(layers: Layers, assumptions: Assumptions, faults: list[Fault]) -> list[Candidate]:
    items = layers.data.get("candidates")
    known: dict[Path, Any] = {}
    candidates = []
    for i, item in enumerate(items[:50] if isinstance(items, list) else []):
        spec = salvaged(CandidateSpec, {"aircraft": item} if isinstance(item, str) else item)
        candidate = None if spec is None else load_candidate(layers, i, spec, assumptions, known, faults)
        candidates += [] if candidate is None else [candidate]
    unique_names(candidates, layers, faults)
    return candidates


def _listed(reading: StudyReading, spec: StudySpec | None) -> TripListRead | None:
    value = reading.layers.data.get("trips")
    form = salvaged(TripFile, {"file": value} if isinstance(value, str) else value)
    if form is None:
        return None
    year = salvaged(int, reading.layers.data.get("year")) if spec is None else spec.year
    return load_trip_list(reading, form, year)


def _demand(reading: StudyReading) -> tuple[DemandLine, ...]:
    items = reading.layers.data.get("demand")
    rows = [(i, salvaged(Destination, item)) for i, item in enumerate(items[:500] if isinstance(items, list) else [])]
    if rows and all(d is not None and d.per_year == 0 for _, d in rows):
        reading.fault(("demand",), "makes no trips", "at least one line with per_year above 0")
    return demand_lines(reading, [(i, d) for i, d in rows if d is not None])


def _check_places(reading: StudyReading, spec: StudySpec) -> None:
    for ident in spec.prices.fuel_at:
        reading.found(("prices", "fuel_at", ident), ident)
    for ident in spec.weather_files:
        reading.found(("weather_files", ident), ident)


def _check_type_hours(layers: Layers, spec: StudySpec, candidates: list[Candidate], faults: list[Fault]) -> None:
    names = [c.name for c in candidates]
    for key in spec.pilot.type_h or {}:
        if key != "every" and key not in names and len(names) == len(spec.candidates):
            faults.append(layers.fault(("pilot", "type_h", key), f"no candidate is named {key!r}",
                                       ", ".join(["every", *names]), near_match(key, names)))


def _weather_files(layers: Layers, spec: StudySpec, airports: AirportTable, faults: list[Fault],
                   ) -> tuple[dict[str, Path], dict[str, OwnStation]]:
    """Return the user's own station files and what they hold, by the airport's own identifier."""
    files, stations = {}, {}
    for ident, text in spec.weather_files.items():
        path, short = layers.resolve(("weather_files", ident), text)
        files[ident] = path
        if not is_file(path):
            faults.append(layers.fault(("weather_files", ident), f"file {short!r} not found", "a TMY3 or EPW file",
                                       neighbour(path)))
            continue
        try:
            station, found_faults = read_station(io.StringIO(read_text(path, short).text), short)
        except InputError as error:
            faults += error.faults
            continue
        faults += found_faults
        if station is not None:
            stations[_own_ident(airports, ident)] = station
    return files, stations


def _own_ident(airports: AirportTable, ident: str) -> str:
    try:
        return airports.find(ident).ident
    except MissionsimError:
        return ident


def _year(spec: StudySpec, listed: TripListRead | None, members: Sequence[MemberTrips], assumptions: Assumptions,
          ) -> int:
    if spec.year is not None:
        return spec.year
    for member in members:
        if member.listed is not None:
            return member.listed.year
    return listed.table.year if listed else int(assumptions["trip.year"])


def filled(pilot: Pilot, assumptions: Assumptions) -> Pilot:
    """Return the pilot with every figure left out taken from the assumptions."""
    values = {name: assumptions[f"pilot.{name}"] for name in FROM_ASSUMPTIONS if getattr(pilot, name) is None}
    if pilot.runway_margin is None:
        values["runway_margin"] = assumptions["runway.margin"]
    if pilot.retractable_h is None and pilot.total_h is not None:
        values["retractable_h"] = min(values["retractable_h"], pilot.total_h)
    return pilot.model_copy(update=values)


def _hashes(layers: Layers, candidates: list[Candidate], listed: TripListRead | None) -> dict[str, str]:
    hashes = {d.name: d.file.sha256 for d in layers.documents}
    hashes.update({c.file: c.sha256 for c in candidates})
    return hashes | ({listed.file: listed.sha256} if listed else {})


