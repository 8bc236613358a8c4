"""A first study made of a buyer's own answers: home, pilot, advertisements, where one flies and how often."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.advertisement.propose import Proposal, read_advertisement
from missionsim.study.inputs.check import ListHints, TripsCheck, check_files
from missionsim.study.inputs.columns import ColumnMap, study_lines
from missionsim.study.inputs.other_files import CALENDARS, read_table_text
from missionsim.study.inputs.places import places_in
from missionsim.study.inputs.starter import write_texts
from missionsim.study.inputs.write_trips import trips_csv
from missionsim.world.airports.table import Airport, AirportTable
from missionsim.year.trips import WISH_LIST, taken_for

_NUMBER_WORDS = {"once": 1, "twice": 2, "weekly": 52, "monthly": 12, "fortnightly": 26, "quarterly": 4, "yearly": 1}
_PEOPLE = re.compile(r"(?:,|\bwith\b|\bfor\b)?\s*(\d{1,2})\s*(?:people|persons|pax|aboard|of us|on board)\b",
                     re.IGNORECASE)
_NIGHTS = re.compile(r"(?:,|\bfor\b)?\s*(\d{1,2})\s*nights?\b", re.IGNORECASE)
_PER = r"(?:\s*(?:a|per|each)\s*(year|month|week))?\s*$"
_OFTEN = re.compile(rf"[\s,:;=]+(?:about\s+|~)?(\d{{1,3}})\s*(?:x|times?|trips?)?{_PER}"
                    rf"|[\s,:;=]+(once|twice|weekly|monthly|fortnightly|quarterly|yearly){_PER}", re.IGNORECASE)
_A_YEAR = {"year": 1, "month": 12, "week": 52, "": 1}


@dataclass(frozen=True, slots=True)
class Errand:
    """One kind of trip: where, how often a year, with how many people and nights; `note`: which field of a town."""

    places: tuple[str, ...]
    per_year: int
    people: int = 1
    nights: int = 0
    note: str = field(default="", compare=False)


@dataclass(frozen=True)
class Answers:
    """What a buyer says.

    Parameters
    ----------
    name : str                     Of the study.
    home : Airport
    proposals : tuple of Proposal  One an advertisement, each of a class that is flown.
    rating : str                   `instrument` or `visual`.
    night : bool                   Flies after dark.
    total_h, weight_lb : float     Of the pilot; None leaves them to the assumptions.
    errands : tuple of Errand      Empty where there is a list.
    trips : Path or None           A list of trips, a logbook or a calendar.
    """

    name: str
    home: Airport
    proposals: tuple[Proposal, ...]
    rating: Literal["instrument", "visual"] = "instrument"
    night: bool = True
    total_h: float | None = None
    weight_lb: float | None = None
    errands: tuple[Errand, ...] = ()
    trips: Path | None = None


@dataclass(frozen=True, slots=True)
class FirstStudy:
    """What was written: `files`, the study first; `notes`: how the list of trips was read, what was taken in it."""

    files: tuple[Path, ...]
    notes: tuple[str, ...] = ()


def airport_named(text: str, key: str = "home") -> tuple[Airport, str]:
    """Return the airport a person names by identifier or town, and what is to be said of the field taken for a town.

    Raises
    ------
    InputError   None is known by that name; with a near match.
    """
    table = AirportTable.packaged(packaged_assumptions())
    found = places_in(text, table.find, table.in_town)
    if len(found.airports) != 1:
        raise InputError([Fault("answer", key, f"is {text!r:.60}", "one airport: an identifier, or a town such as "
                                "`Omaha, NE`", found.near)])
    return found.airports[0], "; ".join(found.notes)


def errand_of(text: str, home: Airport) -> Errand:
    """Return an errand from a line such as `Omaha, NE 12`, `KDEN 4 times a year, 3 people, 2 nights`.

    Raises
    ------
    InputError   No airport, no number of times, or home itself.
    """
    people, nights = _PEOPLE.search(text), _NIGHTS.search(text)
    rest = _NIGHTS.sub("", _PEOPLE.sub("", text)).strip(" ,;.")
    often = _OFTEN.search(rest)
    if often is None:
        raise InputError([Fault("answer", "trips", f"is {text!r:.60}", "a place and how often a year, such as "
                                "`Omaha, NE 12`")])
    place, note = airport_named(rest[:often.start()].strip(" ,;:"), "trips")
    if place.ident == home.ident:
        raise InputError([Fault("answer", "trips", f"goes to {home.ident}, which is home", "another airport")])
    count = int(often[1]) if often[1] else _NUMBER_WORDS[often[3].lower()]
    per = _A_YEAR[(often[2] or often[4] or "").lower()]
    return Errand((place.ident,), count * per, int(people[1]) if people else 1, int(nights[1]) if nights else 0,
                  note)


def flown_proposal(text: str, said_too: str = "") -> Proposal:
    """Return the proposal of an advertisement that can be flown.

    Parameters
    ----------
    text : str
    said_too : str   What the buyer adds where the words do not say what kind of aircraft it is.

    Raises
    ------
    InputError       It cannot be flown, with the reason.
    """
    proposal = read_advertisement(f"{text}\n{said_too}" if said_too else text)
    if proposal.not_flown_because:
        raise InputError([Fault("advertisement", "", f"cannot be flown: {proposal.not_flown_because}",
                                "an aircraft with piston engines: its gear, seats, power and number of engines")])
    if proposal.misfits:
        raise InputError([Fault("advertisement", "", f"claims what fits no such aircraft: {said}")
                          for said in proposal.misfits])
    return proposal


def write_first_study(folder: Path | str, answers: Answers) -> FirstStudy:
    """Write a study, an aircraft file and the questions to each seller, and the trips, into a folder.

    Returns
    -------
    FirstStudy        The files written, the study first, and how the trips were read.

    Raises
    ------
    InputError        A file is there already, cannot be written, or the list of trips has faults; nothing is written.
    """
    trips, lines, notes = _trips(answers)
    return FirstStudy(write_texts(folder, _texts(answers, trips, lines)), notes)


def _texts(answers: Answers, trips: Mapping[str, str], lines: Sequence[str]) -> dict[str, str]:
    """Return name and text of every file of a first study."""
    texts = {"study.yaml": "", **trips}
    files = []
    names = _unique([p.name for p in answers.proposals])
    for i, (proposal, name) in enumerate(zip(answers.proposals, names, strict=True), 1):
        stem = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_") or f"aircraft_{i}"
        text = proposal.profile_text.replace(f"name: {json.dumps(proposal.name)}", f"name: {json.dumps(name)}", 1)
        texts[f"aircraft/{stem}.yaml"] = text
        texts[f"aircraft/{stem}_questions.txt"] = proposal.letter + "\n"
        files.append(f"aircraft/{stem}.yaml")
    texts["study.yaml"] = _study(answers, lines, files)
    return texts


def _unique(names: Sequence[str]) -> list[str]:
    before = [names[:i].count(name) for i, name in enumerate(names)]
    return [f"{name} ({n + 1})" if n else name for name, n in zip(names, before, strict=True)]


def _trips(answers: Answers) -> tuple[dict[str, str], tuple[str, ...], tuple[str, ...]]:
    """Return the file of trips, if there is one, lines of the study that say where trips come from, and how read."""
    if answers.trips is None:
        lines = ["demand:                       # generated anew every simulated year, so many on average"]
        for errand in answers.errands:
            crew = f"adults: {{{errand.people}: 1}}, nights: {{{errand.nights}: 1}}"
            lines.append(f"  - {{to: [{', '.join(errand.places)}], per_year: {errand.per_year}, {crew}}}")
        lines.append(f"trips_are: {WISH_LIST}         # people make 5 to 9.5 of 10 trips they mean to; or logbook")
        return {}, tuple(lines), ()
    (found,) = check_files([str(answers.trips)], ListHints(answers.home.ident))
    assert isinstance(found, TripsCheck)
    columns = ColumnMap(found.columns, "legs" if found.table.from_logbook else "trips")
    as_it_is = answers.trips.suffix.lower() not in CALENDARS and columns.renamed()
    text = read_table_text(answers.trips).text if as_it_is else trips_csv(found.table)
    if as_it_is:
        lines = list(study_lines("trips.csv", answers.home.ident, found.table.year, columns,
                                 taken_for(found.table), found.table.local_h))[1:]
    else:
        lines = [f"year: {found.table.year}", "trips: trips.csv", f"trips_are: {taken_for(found.table)}"]
    return {"trips.csv": text}, tuple(lines), found.table.notes


def _study(answers: Answers, trips: Sequence[str], files: Sequence[str]) -> str:
    pilot = [f"  rating: {answers.rating}          # or {'visual' if answers.rating == 'instrument' else 'instrument'}",
             f"  night: {'true' if answers.night else 'false'}"]
    pilot += [] if answers.total_h is None else [f"  total_h: {answers.total_h:g}"]
    pilot += [] if answers.weight_lb is None else [f"  weight_lb: {answers.weight_lb:g}              # as dressed"]
    which = {1: "Does this aircraft make", 2: "Which of these two aircraft makes"}
    count = which.get(len(files), "Which of these aircraft makes")
    return "\n".join([
        "# Written from your answers; change anything and run again:", "#     missionsim check study.yaml",
        "#     missionsim compare study.yaml --open",
        "# Whatever is left out takes the usual value; the report lists what was taken.", "",
        f"study: {json.dumps(answers.name)}",
        f"question: {count} a year of our trips for the least money, all in?", "",
        f"home: {answers.home.ident}                    # {answers.home.name}",
        "# replications: 100           # simulated years", "",
        "pilot:", *pilot, "", *trips, "", "candidates:", *(f"  - {file}" for file in files), "",
        "value_of_time_usd_per_h: 0    # what an hour of a person on board is worth; 0 leaves it out",
        "# prices: {fuel_usd_per_gal: $6.00}   # where you know better", ""])
