"""Which airports a cell names, as people write it: identifiers, `(MHK)`, `Omaha, NE`, a town, a whole address."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from missionsim.base.errors import MissionsimError
from missionsim.world.airports.towns import HUB, TownFields, field_words

Towns = Callable[[str, str], TownFields | None]
"""Returns the airports of a town (and a state's two letters), None where no town is so named."""

STATES = {
    "alabama": "AL", "alaska": "AK", "arizona": "AZ", "arkansas": "AR", "california": "CA", "colorado": "CO",
    "connecticut": "CT", "district of columbia": "DC",
    "delaware": "DE", "florida": "FL", "georgia": "GA", "hawaii": "HI", "idaho": "ID",
    "illinois": "IL", "indiana": "IN", "iowa": "IA", "kansas": "KS", "kentucky": "KY", "louisiana": "LA",
    "maine": "ME", "maryland": "MD", "massachusetts": "MA", "michigan": "MI", "minnesota": "MN", "mississippi": "MS",
    "missouri": "MO", "montana": "MT", "nebraska": "NE", "nevada": "NV", "new hampshire": "NH", "new jersey": "NJ",
    "new mexico": "NM", "new york": "NY", "north carolina": "NC", "north dakota": "ND", "ohio": "OH",
    "oklahoma": "OK", "oregon": "OR", "pennsylvania": "PA", "rhode island": "RI", "south carolina": "SC",
    "south dakota": "SD", "tennessee": "TN", "texas": "TX", "utah": "UT", "vermont": "VT", "virginia": "VA",
    "washington": "WA", "west virginia": "WV", "wisconsin": "WI", "wyoming": "WY",
}
MOST_CHARACTERS = 2_000
"""A longer cell names no airports; patterns would take minutes to say so."""
_CODES = frozenset(STATES.values())
_BETWEEN = re.compile(r"\s*(?:->|=>|[;>/|\u2192\u2013\n]|\bto\b|\bvia\b|\bthen\b)\s*", re.IGNORECASE)
_IN_BRACKETS = re.compile(r"[(\[]\s*([A-Za-z0-9-]{3,7})\s*[)\]]")
_ADDRESS = re.compile(r"(?:^|,|\d)\s*([A-Za-z][A-Za-z .'-]+?),?\s+([A-Z]{2})\b(?:,?\s*\d{5})?")
_NAMED_WITH_HYPHEN = re.compile(r"[A-Z]{2}-\w+", re.IGNORECASE)
_LIKE_IDENT = re.compile(r"[A-Za-z]{3,4}|(?=[A-Za-z0-9]*\d)[A-Za-z0-9]{3,5}|[A-Z]{2}-\w{2,6}")
_DIRECT, _AIRWAY = re.compile(r"DCT|direct", re.IGNORECASE), re.compile(r"[VJQT]-?\d{1,3}", re.IGNORECASE)
_HYPHENED = re.compile(r"[A-Za-z0-9]{3,4}(?:-[A-Za-z0-9]{3,4})+")


@dataclass(frozen=True, slots=True)
class PlacesRead:
    """Airports of a cell.

    Parameters
    ----------
    airports : tuple        In the order of the cell; empty where a part of it names none.
    unknown : str           The part that names none, else empty.
    near : str              An identifier the unknown part may have meant.
    notes : tuple of str    Which airport of a town was taken, and which others there are.
    """

    airports: tuple[Any, ...]
    unknown: str = ""
    near: str = ""
    notes: tuple[str, ...] = ()


def looks_like_identifier(text: str) -> bool:
    """Return whether a text could be meant as an identifier: a misspelt one is a fault, other words are no airport."""
    return bool(_LIKE_IDENT.fullmatch(text)) and (text[:2].upper() == text[:2] or any(c.isdigit() for c in text))


def places_in(text: str, find: Callable[[str], Any], towns: Towns | None = None, free_text: bool = False,
              offer: bool = True) -> PlacesRead:
    """Return the airports a cell names.

    Parameters
    ----------
    text : str
    find : function         Returns an airport; raises an error of the program, with `near`, for unknown ones.
    towns : function        See `Towns`; None knows no towns.
    free_text : bool        Words of a calendar: three letters are an identifier only in capitals (a gym is none).
    offer : bool            Look for an identifier that may have been meant; takes some milliseconds.
    """
    if len(text) > MOST_CHARACTERS:
        return PlacesRead((), f"{text[:40]}...")
    reader = _Reader(find, towns, free_text, offer)
    bracketed = [a for word in _IN_BRACKETS.findall(text) if (a := reader.identifier(word)) is not None]
    if bracketed:
        return PlacesRead(tuple(bracketed))
    airports: list[Any] = []
    notes: list[str] = []
    for part in (p for p in _BETWEEN.split(text.strip()) if p):
        found = reader.part(part)
        if found.unknown:
            return PlacesRead((), found.unknown, found.near, tuple(notes))
        airports += found.airports
        notes += found.notes
    return PlacesRead(tuple(airports), notes=tuple(notes))


def _unhyphened(piece: str) -> list[str]:
    several = _HYPHENED.fullmatch(piece) and not _NAMED_WITH_HYPHEN.fullmatch(piece)
    return piece.split("-") if several else [piece]


@dataclass(frozen=True, slots=True)
class _Reader:
    find: Callable[[str], Any]
    towns: Towns | None
    free_text: bool
    offer: bool

    def identifier(self, word: str) -> Any:
        """Return the airport of an identifier, None for other words."""
        if self.free_text and not (word.upper() == word or any(c.isdigit() for c in word)):
            return None
        try:
            return self.find(word)
        except MissionsimError:
            return None

    def part(self, text: str) -> PlacesRead:
        """Return what one stop of a cell names: an identifier, a town, several identifiers, or a town in an address."""
        whole = self.identifier(text)
        if whole is not None:
            return PlacesRead((whole,))
        town = self._town(text)
        if town is not None:
            return town
        several = self._several(text)
        if several is not None:
            return several
        for match in reversed(list(_ADDRESS.finditer(text))):
            if (found := self._of_town(match[1], match[2])) is not None:
                return found
        return PlacesRead((), text, self._near(text))

    def _several(self, text: str) -> PlacesRead | None:
        """Return identifiers parted by blanks, commas or hyphens, None unless every word is one (or a town)."""
        words = [w for piece in re.split(r"[,\s]+", text) for w in _unhyphened(piece) if w]
        words = [w for i, w in enumerate(words) if not (0 < i < len(words) - 1 and self._on_the_way(w))]
        found = [self.identifier(w) for w in words]
        if len(words) > 1 and all(a is not None for a in found):
            return PlacesRead(tuple(found))
        pieces = [p.strip() for p in text.split(",") if p.strip()]
        if len(pieces) > 1:
            towns = [self._town(p) for p in pieces]
            if all(t is not None for t in towns):
                return PlacesRead(tuple(a for t in towns if t for a in t.airports),
                              notes=tuple(n for t in towns if t for n in t.notes))
        unknown = [w for w, a in zip(words, found, strict=True) if a is None]
        if len(words) > 1 and all(looks_like_identifier(w) for w in words):
            return PlacesRead((), unknown[0], self._near(unknown[0]))
        return None

    def _on_the_way(self, word: str) -> bool:
        """Return whether a word between two places of a route is none: direct, or an airway."""
        return bool(_DIRECT.fullmatch(word)) or (bool(_AIRWAY.fullmatch(word)) and self.identifier(word) is None)

    def _town(self, text: str) -> PlacesRead | None:
        """Return the airport of `Omaha, NE`, `Omaha NE`, `Omaha, Nebraska` or `Omaha`."""
        match = re.fullmatch(r"(.+?)(?:,\s*|\s+)([A-Za-z]{2}|[A-Za-z ]{4,})(?:,?\s*\d{5})?(?:,?\s*USA?)?", text.strip())
        if match is not None:
            state = STATES.get(match[2].strip().casefold(), match[2].upper() if match[2].upper() in _CODES else "")
            if state and (found := self._of_town(match[1], state)) is not None:
                return found
        return self._of_town(text, "")

    def _of_town(self, town: str, state: str) -> PlacesRead | None:
        if self.towns is None or len(town.strip()) < 3:
            return None
        fields = self.towns(town.strip().strip(","), state)
        if fields is None:
            return None
        return PlacesRead((fields.taken,), notes=(_town_note(f"{town.strip()}, {state}" if state else town.strip(),
                                                             fields),))

    def _near(self, text: str) -> str:
        try:
            if self.offer:
                self.find(text)
        except MissionsimError as error:
            return str(getattr(error, "near", ""))
        return ""


MOST_OTHERS = 6


def _town_note(said: str, fields: TownFields) -> str:
    """Return which airport of a town was taken, what kind of field it is, and which others there are."""
    taken = fields.taken
    others = [a for a in fields.own if a is not taken and a.public][:MOST_OTHERS]
    note = f"{said} is read as {taken.ident} ({taken.name}: {field_words(taken)})"
    if taken not in fields.own:
        away = ", ".join(f"{a.ident} ({field_words(a)})" for a in fields.own[:MOST_OTHERS])
        return f"{note}, the nearest that suits: the town has none open to the public, only {away}"
    if not taken.public:
        return f"{note}; nothing around is open to the public: ask for leave to land, or name another field"
    also = ", ".join(f"{a.ident} (hub)" if a.size >= HUB else a.ident for a in others)
    near = ", ".join(a.ident for a in fields.near) if taken.size >= HUB else ""
    return (note + (f"; also {also}" if also else "")
            + (f"; near it, and easier for a light aircraft: {near}" if near else ""))
