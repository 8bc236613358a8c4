"""What stands beside hours: their object and side, the interval and the date behind them, and what they are not."""

from __future__ import annotations

import re
from dataclasses import dataclass

from missionsim.study.inputs.advertisement.identity import KIND_WORDS
from missionsim.study.inputs.advertisement.text import NUMBER, AdvertisementText, FoundWords, number, numbers

BASIS = {"overhaul": "overhaul", "some_overhaul": "overhaul", "factory": "factory overhaul",
         "reman": "factory remanufacture", "fwf": "overhaul", "new": "new", "sn": "new"}
KIND = {"factory": "factory", "reman": "factory"}


@dataclass(frozen=True, slots=True)
class HourToken:
    """A number or a tag, and where it stands."""

    start: int
    end: int
    kind: str
    text: str

    @property
    def is_number(self) -> bool:
        """Whether it is a number and not a tag."""
        return self.kind == "count"


def add(text: AdvertisementText, key: str, value: object, words: str, place: int) -> None:
    """Keep what follows from words already taken.

    Parameters
    ----------
    text : AdvertisementText
    key : str       Dotted key.
    value : object
    words : str     The words taken.
    place : int     Where they begin.
    """
    text.found.append(FoundWords(key, value, words, place))


_LEAST_USUAL_H, _MOST_INTERVAL_H = 1_200.0, 5_000.0
_TWIN = re.compile(r"\btwin\b(?!\s*turbo)|\b(?:2|two)\s*x\s*\d{2,3}|\bmulti-?engine|\bL\s?/\s?R\b|\b(?:left|right)\b|\b(?:engines)\b",
                   re.IGNORECASE)


def is_interval(hours: float) -> bool:
    """Return whether hours are a number that makers set between overhauls."""
    return 1_000 <= hours <= _MOST_INTERVAL_H and hours % 50 == 0


def interval_after(text: AdvertisementText, end: int, values: tuple[float, ...],
                   ) -> tuple[int, tuple[float, ...], tuple[float, str] | None]:
    """Return the end of the words, the hours used, and the interval with a note, of `of 2000`, `(2000)` or `1180/2000`.

    2000 in brackets is the one number that may be a year as well; an interval is what sellers write there most often.
    """
    if len(values) == 2 and values[1] >= _LEAST_USUAL_H and is_interval(values[1]) and values[0] < 1.3 * values[1] \
            and not _TWIN.search(text.original):
        return end, values[:1], (values[1], "")
    hours = rf"({NUMBER})(?:\s*-?\s*(?:hrs?|hours?|h))?(?:\s*(?:TBO|overhaul\s*(?:interval|schedule)))?\b"
    after = re.match(rf"\s*(?:(?:of|/|out\s*of|on(?=\s*an?\s*\d))\s*(?:an?\s*|the\s*)?(?:recommended\s*|usual\s*|factory\s*)?{hours}"
                     rf"|\(\s*(?:of\s*|TBO\s*:?\s*)?{hours}\s*\))", text.rest[end:], re.IGNORECASE)
    found = number(after[1] or after[2]) if after else 0.0
    if after is None or not is_interval(found) or (after[2] and text.get("engine.tbo_h") not in (None, found)):
        return end, values, None
    note = "read as the overhaul interval; it could be the year of the overhaul" if after[0].strip() == "(2000)" else ""
    return end + after.end(), values, (found, note)


def add_interval(text: AdvertisementText, key: str, interval: tuple[float, str] | None, words: str, place: int) -> None:
    """Keep the interval told beside hours of the engine; a propeller's is no figure of a profile.

    Parameters
    ----------
    text : AdvertisementText
    key : str                     Of the hours.
    interval : (float, str)       Hours and a note on the reading; None where none is told.
    words, place : str, int       As in `add`.
    """
    if interval is not None and key.startswith("engine") and not text.has("engine.tbo_h"):
        hours, note = interval
        text.found.append(FoundWords("engine.tbo_h", hours, words, place, "unclear" if note else "said", note))


def past_event(text: AdvertisementText, count: HourToken, tag: HourToken, kind: str) -> bool:
    """Set aside hours at which something was done: `new cylinders at 900 SMOH in 2020` tells no hours of today.

    Parameters
    ----------
    text : AdvertisementText
    count, tag : HourToken   The number and its tag.
    kind : str               What the tag means where it stands.
    """
    before = text.before(count.start, 60)
    if kind not in BASIS or not re.search(r"(?:\bat|@)\s*$", before) or not _WORK.search(before):
        return False
    end, _ = date_after(text, tag.end, kind)
    text.take_span(count.start, end, "event_at_engine_h", numbers(count.text)[0], "said", "when something was done, not today")
    return True


_WORK = re.compile(r"cyl|jugs|\btop|cam\b|crank|replac|install|repair|inspect|IRAN|new\b|mags|magnet|case", re.IGNORECASE)


def year_or_hours(text: AdvertisementText, count: HourToken, tag: HourToken, kind: str) -> bool:
    """Set aside `SMOH 1985`: the year of the overhaul, unless tags stand before their hours in this advertisement.

    Parameters
    ----------
    text, count, tag, kind   As in `past_event`.
    """
    year = re.fullmatch(r"(?:19[5-9]\d|20[0-3]\d)", count.text.strip()) is not None and kind in BASIS and tag.start < count.start
    if not year or re.match(r"\s*(?:hrs?|hours?|h)\b", text.rest[count.end:], re.IGNORECASE):
        return False
    if re.search(r"\b(?:TT(?:AF|SN)?|total\s*time)[\s:]*\d[\d,.]*\s*(?:hrs?|hours?)?\s*[,;./|-]?\s+T?S[A-Z]{2,}[\s:]*\d", text.original, re.IGNORECASE):
        return False
    text.take_span(tag.start, count.end, "overhaul_words", tag.text + " " + count.text, "unclear", "hours, or the year of the overhaul?")
    return True


def date_after(text: AdvertisementText, end: int, kind: str) -> tuple[int, float | None]:
    """Return the end of the words and the year where a date follows hours: `980 SMOH in 2009`, `415 SMOH (06/2017)`."""
    if kind not in _DATED:
        return end, None
    match = re.match(rf"(?:\s*(?:hrs?|hours?|engine)\b)?\s*(?:by\s[^,.;\n()\x01]{{0,30}}?\s)?(?:,\s*done\s*|done\s*|completed\s*)?(?:in\s*|on\s*|\(\s*|-\s*)?{_DATE}"
                     r"(?!\s*-?\s*(?:hrs?|hours?|TBO|annual)\b)\s*\)?", text.rest[end:], re.IGNORECASE)
    if match is None:
        return end, None
    year = int(match["y"]) if match["y"] else 2000 + int(match["y2"])
    if re.match(rf"\s*{KIND_WORDS}", text.rest[end + match.end():], re.IGNORECASE) and not re.search(r"[(/]|\b(?:in|on|done|by)\b", match[0]):
        return end, None        # 300 SPOH 1975 four seats: the year of build
    bare = match["y"] == "2000" and match[0].strip(" ()") == "2000" and "in" not in match[0].lower()
    return (end, None) if bare else (end + match.end(), float(year))


_DATE = (r"(?:(?:(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?\s*(?:of\s*)?|\d{1,2}\s*/\s*(?:\d{1,2}\s*/\s*)?)?"
         r"(?P<y>(?:19[5-9]\d|20[0-3]\d))(?!\d|,\d)|(?:0?[1-9]|1[0-2])/(?P<y2>[0-3]\d)(?!\d|/))")
_DATED = frozenset({*BASIS, "prop", "prop_new", "top", "hot", "iran"})


def add_date(text: AdvertisementText, key: str, year: float, words: str, place: int) -> None:
    """Keep the year told behind hours, of engine or propeller.

    Parameters
    ----------
    text : AdvertisementText
    key : str                Of the hours.
    year : float
    words, place : str, int  As in `add`.
    """
    if key == "engine.hours_since_overhaul_h" and not text.has("engine.overhaul_year"):
        add(text, "engine.overhaul_year", year, words, place)
    elif key == "propeller.hours_since_overhaul_h" and not text.has("propeller.overhaul_year"):
        add(text, "propeller.overhaul_year", year, words, place)


OBJECTS = {"prop": r"prop(?:eller)?s?\b", "engine": r"\b(?:eng(?:ine)?s?|motor|l/r|left|right|le|re)\b",
           "airframe": r"airframe|\baf\b"}


def object_of(text: AdvertisementText, start: int, end: int) -> str:
    """Return what a tag without its own object speaks of: the nearest word of the same clause."""
    before, after = text.before(start), text.after(end, 20)
    near = [(m.end(), name) for name, p in OBJECTS.items() for m in re.finditer(p, before)]
    if near:
        return max(near)[1]
    inside = text.original[start:end].lower()
    for name, p in OBJECTS.items():
        if re.search(p, inside) or re.match(rf"\s*(?:on\s*)?(?:the\s*|new\s*)?(?:(?:\w+)[\s-]?blade[ds]?\s*)?(?:{p})", after):
            return name
    return ""


_SIDE = re.compile(r"(?:\b(?P<left>left|le|lh|l)|\b(?P<right>right|re|rh|r)|(?:#|\bno\.?\s?|\bengine\s|\bprop\s)(?:(?P<one>1)|(?P<two>2)))\b"
                   r"[\s:]*(?:(?:hand|side)\s*)?(?:eng(?:ine)?|motor|prop(?:eller)?)?\.?[\s:]*$", re.IGNORECASE)


def side_of(text: AdvertisementText, start: int) -> str:
    """Return which of two engines the words before hours name, empty where none."""
    match = _SIDE.search(text.before(start, 24))
    return "" if match is None else "left" if match["left"] or match["one"] else "right"


def both_sides(text: AdvertisementText, key: str, value: object, start: int) -> object:
    """Return the hours of both engines where those of the other were told before.

    Parameters
    ----------
    text : AdvertisementText
    key : str         Of the hours.
    value : object    Hours just read.
    start : int       Where they begin.
    """
    side = side_of(text, start)
    earlier = next((f for f in text.found if f.key == key), None)
    if key not in _OF_BOTH or not side or earlier is None or isinstance(earlier.value, tuple) or isinstance(value, tuple):
        return value
    text.found.remove(earlier)
    return (value, earlier.value) if side == "left" else (earlier.value, value)


_OF_BOTH = ("engine.hours_since_overhaul_h", "propeller.hours_since_overhaul_h")
