"""Who comes along, as people write it: `4`, `2 adults, 2 kids`, `Ann and kids`, `Tom, Ann`, `just me`."""

from __future__ import annotations

import re
from dataclasses import dataclass

MOST_CHARACTERS = 200
USUAL_SEVERAL = 2
"""How many `kids`, `parents` or `friends` are taken to be where no number stands before them."""
_NUMBERS = {word: n for n, word in enumerate(
    ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"), 1)} | {"a": 1, "an": 1}
_PILOT = frozenset(("me", "myself", "self", "i", "pilot", "us", "we"))
_ALONE = frozenset(("alone", "solo", "nobody", "no one", "none", "nobody else", "by myself", "no", "nil", "-"))
_OPEN = frozenset(("?", "??", "tbd", "tba", "unknown", "n/a", "na", "open", "various", "yes", "x"))
_CHILD = frozenset(("kid", "child", "baby", "infant", "toddler", "son", "daughter", "boy", "girl", "grandchild",
                    "grandson", "granddaughter", "grandkid", "teenager"))
_CHILDREN = frozenset(("kids", "children", "babies", "sons", "daughters", "boys", "girls", "grandchildren", "grandkids",
                       "twins", "teenagers"))
_SEVERAL = frozenset(("friends", "parents", "grandparents", "in-laws", "couple", "colleagues", "clients", "customers",
                      "guests", "passengers", "pax", "people", "persons", "adults", "others", "crew", "team", "buddies",
                      "neighbors", "neighbours", "folks", "guys", "more", "souls", "relatives", "employees"))
_ANIMAL = frozenset(("dog", "dogs", "cat", "cats", "puppy", "luggage", "bags", "gear"))
_WHOLE = frozenset(("people", "persons", "souls", "aboard", "on board", "total", "in all", "of us", "seats", "pob"))
_BETWEEN = re.compile(r"\s*(?:[,;/+&\n]|\band\b|\bwith\b|\bplus\b)\s*", re.IGNORECASE)
_COUNTED = re.compile(r"(\d{1,2}|[a-z]+)\s*(?:x\s*)?(.*)", re.IGNORECASE)
_NAME = re.compile(r"[^\W\d_][\w.'’-]*(?:\s+[^\W\d_][\w.'’-]*){0,3}")


@dataclass(frozen=True, slots=True)
class PartyRead:
    """Who is on board.

    Parameters
    ----------
    adults, children : int   Everybody, the pilot included.
    guessed : bool           Counted from words; a number nobody wrote was taken, or the pilot put beside those named.
    """

    adults: int
    children: int
    guessed: bool = False

    @property
    def words(self) -> str:
        """What it was taken for."""
        kids = f" and {self.children} child{'' if self.children == 1 else 'ren'}" if self.children else ""
        return f"{self.adults} adult{'' if self.adults == 1 else 's'}{kids}"


def party_in(text: str) -> PartyRead | None:
    """Return the party of a cell that is no bare number; None where it says that nobody knows yet.

    A count of people (`4 people`) holds the pilot, `family of 4` too; those named (`Ann and kids`, `3 friends`) come
    beside the pilot unless the cell names the pilot (`me and Ann`).

    Raises
    ------
    ValueError   It is none, in words for a person.
    """
    said = " ".join(text.strip().casefold().split()).strip(" .!")
    if said in _OPEN or not said:
        return None
    if said in _ALONE or said.removeprefix("just ").removeprefix("only ") in _PILOT | _ALONE:
        return PartyRead(1, 0)
    whole = _whole(said)
    if whole is not None:
        return whole
    if len(said) > MOST_CHARACTERS:
        raise ValueError(_ACCEPTED)
    parts = [part for part in _BETWEEN.split(said) if part]
    counts = [_part(part) for part in parts]
    adults, children = sum(a for a, _ in counts), sum(c for _, c in counts)
    pilot = any(part in _PILOT for part in parts) or any(part.endswith(("adults", "adult")) for part in parts)
    return PartyRead(adults + (not pilot), children, guessed=True)


_ACCEPTED = "a number of people, or who they are, such as 4, `2 adults, 2 kids`, `Ann and Tom`"


def _whole(said: str) -> PartyRead | None:
    """Return the party of a count of everybody, of a family of so many, or of adults and children in figures."""
    match = re.fullmatch(r"family of (\w+)", said)
    if match and (n := _count(match[1])) is not None and n >= 2:
        return PartyRead(2, n - 2, guessed=True)
    match = _COUNTED.fullmatch(said)
    if match and (n := _count(match[1])) is not None and (not match[2] or match[2] in _WHOLE):
        return PartyRead(n, 0) if n >= 1 else None
    match = re.fullmatch(r"(\w+) adults?(?:\s*(?:,|and|&|\+|plus|with)\s*(\w+) (?:kids?|child|children))?", said)
    if match and (adults := _count(match[1])) and (kids := _count(match[2] or "0")) is not None:
        return PartyRead(adults, kids)
    return None


def _count(word: str) -> int | None:
    return int(word) if word.isdigit() and len(word) <= 2 else _NUMBERS.get(word)


def _part(part: str) -> tuple[int, int]:
    """Return adults and children of one part of a list of people; the pilot counts as an adult."""
    words = re.sub(r"^(?:the|my|our|his|her|their)\s+", "", part)
    match = _COUNTED.fullmatch(words)
    number = _count(match[1]) if match else None
    kind = words if match is None or number is None else re.sub(r"^(?:small|little)\s+", "", match[2])
    if kind in _ANIMAL:
        return 0, 0
    if kind in _CHILD | _CHILDREN:
        return 0, number or (1 if kind in _CHILD else USUAL_SEVERAL)
    if kind == "family":
        return 1, USUAL_SEVERAL
    if kind and not _NAME.fullmatch(kind):
        raise ValueError(_ACCEPTED)
    return number or (USUAL_SEVERAL if kind in _SEVERAL else 1), 0
