"""Read the words of an advertisement: free text in, figures with the very words they came from out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from missionsim.base.errors import Fault, InputError, without_commands
from missionsim.study.inputs.advertisement.condition import read_condition, read_overhaul_kind
from missionsim.study.inputs.advertisement.equipment import read_equipment
from missionsim.study.inputs.advertisement.hours import read_hours
from missionsim.study.inputs.advertisement.hours_in_words import first_engine
from missionsim.study.inputs.advertisement.identity import read_identity
from missionsim.study.inputs.advertisement.price import read_offers, read_price
from missionsim.study.inputs.advertisement.text import AdvertisementText, FoundWords
from missionsim.study.inputs.advertisement.weights import read_performance, read_weights

MOST_CHARACTERS = 20_000


@dataclass(frozen=True)
class Advertisement:
    """What an advertisement says, and what of it was not understood.

    Parameters
    ----------
    text : str
    found : tuple of FoundWords   In the order of the text.
    unread : tuple of str    Clauses nothing was taken from.
    """

    text: str
    found: tuple[FoundWords, ...]
    unread: tuple[str, ...]

    def get(self, key: str) -> Any:
        """Return the first value said for a key, or None."""
        return next((f.value for f in self.found if f.key == key), None)

    def source(self, key: str) -> FoundWords | None:
        """Return what was found for a key, or None."""
        return next((f for f in self.found if f.key == key), None)


def read_words(text: str, today: date | None = None) -> Advertisement:
    """Return what an advertisement says, each figure with the words it came from.

    Parameters
    ----------
    text : str
    today : date, optional   Dates such as `annual 9/26` are read as seen from this day; None is the day of the call.

    Raises
    ------
    InputError               Empty, or far longer than any advertisement.
    """
    if not text.strip() or len(text) > MOST_CHARACTERS:
        raise InputError([Fault("advertisement", "", f"holds {len(text):,} characters",
                                f"the words of one advertisement, up to {MOST_CHARACTERS:,}")])
    today = today or date.today()
    text = without_commands(text.replace("\r\n", "\n"))
    words = AdvertisementText(text)
    read_price(words)
    read_condition(words, today)
    read_weights(words)
    read_performance(words)
    read_hours(words)
    read_overhaul_kind(words)
    first_engine(words)
    read_identity(words, today.year)
    read_equipment(words)
    read_offers(words)
    return Advertisement(text, tuple(sorted(words.found, key=lambda f: f.start)), words.unread())
