"""Which column of a stranger's table is which of ours: by its heading first, then by what its cells hold."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from missionsim.study.inputs.csv_cells import DateOrder, parse_clock, parse_duration, parse_moment, parse_number
from missionsim.study.inputs.csv_rows import KILOGRAMS, Find
from missionsim.study.inputs.csv_text import plain_heading
from missionsim.study.inputs.party import party_in
from missionsim.study.inputs.places import Towns, places_in
from missionsim.study.inputs.trip_list import ROUTES
from missionsim.study.inputs.trip_rows import COLUMNS, LOCAL

HEADINGS: dict[str, tuple[str, ...]] = {
    "date": ("date", "start_date", "departure_date", "flight_date", "dep_date", "date_out", "leave_date", "from_date",
             "date_of_flight", "datum", "day", "start", "begin", "begins", "leaving", "depart", "outbound"),
    "hours": ("hours", "total_time", "total_duration", "duration", "flight_time", "total_flight_time", "block_time",
              "block_hours", "total_hours", "total_hrs", "air_time", "block", "total", "hrs", "dauer", "flugzeit",
              "blockzeit", "time", "zeit"),
    "time": ("time", "start_time", "departure_time", "dep_time", "time_out", "off_block", "out", "etd", "off", "leave",
             "depart_time", "takeoff_time", "departs", "std", "block_off", "off_blocks", "blocks_off", "block_out",
             "chocks_off", "wheels_off", "gate_out", "time_off", "out_time", "uhrzeit", "abflugzeit"),
    "from": ("from", "origin", "departure_airport", "from_airport", "dep", "departure", "orig", "dept", "departed",
             "departure_place", "start_airport", "starting_airport", "von", "abflug", "startort"),
    "to": ("to", "destination", "arrival_airport", "to_airport", "dest", "arr", "arrival", "arrived", "arrival_place",
           "end_airport", "location", "where", "place", "city", "airport", "route", "route_of_flight", "routing",
           "nach", "ziel", "zielort"),
    "return": ("return", "return_date", "end_date", "date_back", "to_date", "date_home", "back", "end", "ends",
               "inbound", "rückkehr"),
    "return_time": ("return_time", "end_time", "time_back", "time_home"),
    "nights": ("nights", "nights_away", "overnights"),
    "passengers": ("passengers", "pax", "guests", "no_of_passengers", "number_of_passengers", "passagiere"),
    "people": ("people", "on_board", "pob", "souls", "souls_on_board", "people_on_board", "party", "party_size",
               "occupants", "persons", "headcount", "who"),
    "adults": ("adults",), "children": ("children", "kids"),
    "bags_lb": ("bags_lb", "bags", "luggage", "baggage", "freight", "cargo"),
    "must_go": ("must_go", "cannot_be_moved", "mandatory", "must"),
    "purpose": ("purpose", "remarks", "comments", "subject", "title", "summary", "description", "reason", "notes",
                "event", "remarks_and_endorsements", "remarks_&_endorsements"),
    "member": ("member", "partner", "owner"),
    "fuel_stop": ("fuel_stop", "fuel_only", "tech_stop"),
}
"""Our column, and the headings that mean it, the surest first."""

_KINDS: dict[str, frozenset[str]] = {
    "passengers": frozenset(("passengers", "passenger", "pax", "guests", "companions")),
    "people": frozenset(("people", "persons", "souls", "who", "whom", "party", "travelers", "travellers", "occupants",
                         "coming", "aboard", "heads", "humans", "attendees")),
    "adults": frozenset(("adults",)), "children": frozenset(("children", "kids")),
    "bags_lb": frozenset(("bags", "bag", "baggage", "luggage", "cargo", "freight", "gear"))}
"""Our column, and words of which its heading may be made beside those of `_BESIDE`: `Who is coming`, `Bags (kg)`."""
_BESIDE = frozenset(("a", "all", "along", "and", "are", "board", "comes", "count", "flies", "flying", "for", "goes",
                     "going", "how", "in", "is", "kg", "kgs", "kilograms", "kilos", "lb", "lbs", "many", "me", "much",
                     "name", "names", "no", "number", "of", "on", "our", "pounds", "s", "size", "that", "the", "this",
                     "to", "total", "trip", "weight", "with", "wt"))
_SAMPLE = 60
_ENOUGH_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """How a table is to be read.

    Parameters
    ----------
    columns : mapping      Our column to the table's heading, also where the two are the same word.
    rows : str             `trips` or `legs`.
    """

    columns: Mapping[str, str]
    rows: Literal["trips", "legs"]

    def renamed(self) -> dict[str, str]:
        """Return only the columns whose heading is not our own word."""
        return {ours: heading for ours, heading in self.columns.items() if plain_heading(heading) != ours}


def suggested_columns(headings: Sequence[str], rows: Sequence[Sequence[str]], find: Find, towns: Towns | None = None,
                      ) -> ColumnMap:
    """Return which heading is which of our columns, as far as headings and cells tell.

    Parameters
    ----------
    headings : sequence of str
    rows : sequence              Cells below them; the first sixty are looked at.
    find : function              Returns an airport; raises for unknown ones.
    towns : function, optional   Airports of a town.
    """
    cells = {name: [row[i].strip() for row in rows[:_SAMPLE] if i < len(row) and row[i].strip()]
             for i, name in enumerate(headings) if name.strip()}
    whole = {plain_heading(name): name for name in reversed(cells)}
    parts = {part.strip("_"): name for heading, name in whole.items() for part in heading.split("/")}
    plain = parts | whole  # a heading in two languages is either of its words

    def is_place(text: str) -> bool:
        return bool(LOCAL.fullmatch(text)) or bool(places_in(text, find, towns).airports)

    tests: dict[str, Callable[[str], bool]] = {
        "date": _is_date, "return": _is_date, "time": _is_clock, "return_time": _is_clock, "hours": _is_hours,
        "from": is_place, "to": is_place, "passengers": _is_party, "people": _is_party, "adults": _is_number,
        "children": _is_number, "nights": _is_number, "bags_lb": _is_weight}
    found: dict[str, str] = {}
    for ours, words in HEADINGS.items():
        for word in words:
            name = plain.get(word)
            if name is not None and name not in found.values() and _fits(cells[name], tests.get(ours)):
                found[ours] = name
                break
    for ours, kind in _KINDS.items():
        if ours not in found and not (ours == "people" and found.keys() & {"passengers", "adults"}):
            rest = [name for name in cells if name not in found.values() and _made_of(name, kind)
                    and _fits(cells[name], tests[ours])]
            found.update({ours: rest[0]} if rest else {})
    if "date" not in found:
        rest = [name for name in cells if name not in found.values() and cells[name] and _fits(cells[name], _is_date)]
        found.update({"date": rest[0]} if rest else {})
    if "to" not in found:
        rest = [name for name in cells if name not in found.values() and cells[name] and _fits(cells[name], is_place)]
        named = [plain[word] for word in HEADINGS["to"] if word in plain and plain[word] not in found.values()]
        ways = [] if "from" in found else _from_and_to(rest, headings, rows, find, towns)
        found.update({"from": ways[0], "to": ways[1]} if ways else {"to": (rest or named)[0]} if rest or named else {})
    ordered = {ours: found[ours] for ours in COLUMNS if ours in found}
    return ColumnMap(ordered, _rows_kind(ordered, cells))


def _from_and_to(names: Sequence[str], headings: Sequence[str], rows: Sequence[Sequence[str]], find: Find,
                 towns: Towns | None) -> list[str]:
    """Return the two columns of places between which most rows go, none where two columns tell the same place."""
    if len(names) < 2:
        return []
    at = [list(headings).index(name) for name in names[:2]]
    pairs = [[places_in(row[i], find, towns, offer=False).airports for i in at]
             for row in rows[:_SAMPLE] if len(row) > max(at)]
    apart = sum(bool(a and b) and a[0].ident != b[0].ident for a, b in pairs)
    return list(names[:2]) if apart >= _ENOUGH_SHARE * max(len(pairs), 1) else []


def _rows_kind(found: Mapping[str, str], cells: Mapping[str, Sequence[str]]) -> Literal["trips", "legs"]:
    """Return `legs` where rows start at several places, or each names a whole route."""
    if "from" in found:
        return "legs" if len(Counter(cells[found["from"]])) > 1 else "trips"
    return "legs" if plain_heading(found.get("to", "")) in ROUTES else "trips"


def _fits(cells: Sequence[str], test: Callable[[str], bool] | None) -> bool:
    """Return whether at least half of the cells are of the kind; an empty column fits."""
    return test is None or not cells or sum(map(test, cells)) >= _ENOUGH_SHARE * len(cells)


def _is_date(text: str) -> bool:
    orders: tuple[DateOrder, ...] = ("month/day/year", "day/month/year")
    for order in orders:
        try:
            parse_moment(text, order)
        except ValueError:
            continue
        return True
    return False


def _is_clock(text: str) -> bool:
    try:
        parse_clock(text)
    except ValueError:
        return False
    return not re.fullmatch(r"\d{0,2}[.,]\d+", text) or (text.startswith(("0.", ".")) and len(text) > 5)


def _is_hours(text: str) -> bool:
    if ":" in text:     # a time of day as well: hours of a flight begin with one figure
        return bool(re.fullmatch(r"0?\d:[0-5]\d(?::00)?", text))
    return parse_duration(text) is not None or bool(re.fullmatch(r"\d{0,2}[.,]\d{1,2}|\d{1,2}", text))


def _made_of(heading: str, kind: frozenset[str]) -> bool:
    """Tell whether a heading is made of words of a kind, and of such as tell nothing else."""
    words = set(re.findall(r"[^\W\d_]+", heading.casefold()))
    return bool(words & kind) and words <= kind | _BESIDE


def _is_party(text: str) -> bool:
    try:
        party_in(text)
    except ValueError:
        return _is_number(text)
    return True


def _is_weight(text: str) -> bool:
    return _is_number(KILOGRAMS.sub("", text).strip())


def _is_number(text: str) -> bool:
    try:
        parse_number(text, None, semicolons=False)
    except ValueError:
        return bool(re.fullmatch(r"\d+(?:[.,]\d+)?\s*\w*", text))
    return True


def study_lines(file: str, home: str, year: int, columns: ColumnMap, trips_are: str, local_h: float = 0.0,
                ) -> tuple[str, ...]:
    """Return the lines of a study that read this table so.

    Parameters
    ----------
    file, home : str        Name of the table; identifier of home.
    year : int
    columns : ColumnMap
    trips_are : str         `wish_list` or `logbook`.
    local_h : float         Hours of the table's flights that land where they began; 0 proposes nothing.
    """
    lines = [f"home: {home}", f"year: {year}", "trips:", f"  file: {_quoted(file)}"]
    renamed = columns.renamed()
    if renamed:
        pairs = ", ".join(f"{ours}: {_quoted(heading)}" for ours, heading in renamed.items())
        lines.append(f"  columns: {{{pairs}}}")
    return (*lines, f"  rows: {columns.rows}", f"trips_are: {trips_are}",
            *([f"local_hours_per_year: {local_h:.1f}"] if local_h > 0.0 else []))


def _quoted(text: str) -> str:
    words = ("yes", "no", "true", "false", "null", "on", "off", "y", "n")
    safe = re.fullmatch(r"[A-Za-z][\w ./-]*", text) and text.lower() not in words
    return text if safe else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
