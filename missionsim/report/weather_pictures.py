"""Four pictures of the weather that years are drawn from, as a page carries them."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from functools import cache

from missionsim.world.data import table

CAPTIONS = {
    "low_january": "January: share of hours with a ceiling under 1,000 ft or visibility under 3 sm, "
                   "mean of the stations in cells of 1.5 degrees",
    "low_july": "July: the same share, on the same scale",
    "thunder": "Hours with thunder at a place in a year; about two make a day with thunder",
    "low_by_hour": "The same low weather by hour of the day, where it has a course of its own",
}


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture: `source` is a data address that holds all of it."""

    caption: str
    source: str
    width: int
    height: int


@cache
def weather_pictures() -> tuple[Picture, ...]:
    """Return the packaged pictures in the order of the report."""
    packaged = table("weather_pictures")
    return tuple(_picture(caption, packaged[name].tobytes()) for name, caption in CAPTIONS.items())


def _picture(caption: str, png: bytes) -> Picture:
    # The header of a PNG holds width and height as four bytes each, most significant first, from the 16th on.
    width, height = (int.from_bytes(png[at:at + 4], "big") for at in (16, 20))
    return Picture(caption, f"data:image/png;base64,{base64.b64encode(png).decode()}", width, height)
