"""Hours told in sentences, and words that stand for hours: what no tag of the trade marks."""

from __future__ import annotations

import re

from missionsim.study.inputs.advertisement.hours_beside import (
    OBJECTS,
    add,
    add_date,
    add_interval,
    both_sides,
    date_after,
    interval_after,
    is_interval,
    side_of,
)
from missionsim.study.inputs.advertisement.text import ABOUT, NUMBER, AdvertisementText, FoundWords, number


def read_left(text: AdvertisementText) -> None:
    """Read hours still to run: `600 hours left to TBO (2000)`."""
    for match in text.matches(rf"(?<![\w.,])(?P<n>{NUMBER})\s*(?:hrs?|hours?)?\s*(?:left|remaining|to\s*(?:go|run)|(?=to\s*TBO|before\s*TBO|until\s*TBO))\s*"
                              rf"(?:(?:to|until|before|on)\s*(?:the\s*)?(?:TBO|overhaul|engine))?(?:\s*\(?(?:of\s*|TBO\s*)?(?P<tbo>{NUMBER})\)?)?"):
        interval = number(match["tbo"]) if match["tbo"] else 0.0
        text.take(match, "engine_hours_left_h", number(match["n"]))
        if is_interval(interval):
            add(text, "engine.tbo_h", interval, text.found[-1].words, text.found[-1].start)
            used = interval - number(match["n"])
            text.found.append(FoundWords("engine.hours_since_overhaul_h", used, text.found[-1].words, text.found[-1].start, "read as",
                                    "interval less hours left"))


def read_untagged(text: AdvertisementText) -> None:
    """Read hours that only an object names: `1,450 hrs on engine`, `eng 640 hrs`, `engine 1180/2000`, `prop 300 hrs`."""
    count = rf"{ABOUT}(?P<n>{NUMBER})"
    hours = r"\s*(?:hrs?\.?|hours?|h)\b"
    not_unit = r"(?!\s*(?:hp|h\.p|bhp|shp|lbs?|gal|kts?|%|k\b|ps\b|x\b|blade|usd|years?))"
    engine, prop = r"(?:engine|eng|motor)s?\.?", r"prop(?:eller)?s?\.?"
    for match in text.matches(rf"\b{engine}(?:\s*(?:time|hours|hrs))?[\s:]*{ABOUT}(?P<n>{NUMBER})\s*/\s*(?P<tbo>{NUMBER})(?:{hours})?"):
        used, interval = number(match["n"]), number(match["tbo"])
        if is_interval(interval) and not text.has("engine.hours_since_overhaul_h"):
            text.take(match, "engine.hours_since_overhaul_h", used, "unclear", "since what is not said")
            add(text, "engine.tbo_h", interval, text.found[-1].words, text.found[-1].start)
    for match in text.matches(rf"\b{prop}(?:\s*(?:time|hours|hrs))?[\s:]*{ABOUT}(?P<n>{NUMBER})\s*/\s*(?P<tbo>{NUMBER})(?:{hours})?"):
        if is_interval(number(match["tbo"])) and not text.has("propeller.hours_since_overhaul_h"):
            text.take(match, "propeller.hours_since_overhaul_h", number(match["n"]), "unclear", "since what is not said")
    for match in text.matches(rf"(?<![\w.,])(?P<n>{NUMBER})\s*/\s*(?P<tbo>{NUMBER})\s*(?:{hours}\s*)?{engine}\b"):
        used, interval = number(match["n"]), number(match["tbo"])
        if is_interval(interval) and not text.has("engine.hours_since_overhaul_h"):
            text.take(match, "engine.hours_since_overhaul_h", used, "unclear", "since what is not said")
            add(text, "engine.tbo_h", interval, text.found[-1].words, text.found[-1].start)
    _left_and_right(text)
    shapes = ((engine, "engine.hours_since_overhaul_h"), (prop, "propeller.hours_since_overhaul_h"),
              (r"(?:airframe|AF)", "state.airframe_hours_h"))
    for what, key in shapes:
        if text.has(key):
            continue
        first = rf"\b{what}(?:\s*(?:time|hours|hrs|has|is|at))?[\s:]*(?:,\s*(?=[\d,]+\s*h))?{count}(?:{hours}|{not_unit}(?![\w/.,]*\d))"
        last = rf"(?<![\w.,]){count}(?:{hours}|(?=\s*on\b))\s*(?:on|for)?\s*(?:the\s*|its\s*|each\s*|both\s*)?{what}\b"
        for match in [*text.matches(first)][:2] or [*text.matches(last)][:1]:
            _keep_untagged(text, match, key)
    _prose(text)
    if not text.has("state.airframe_hours_h"):
        found = text.first(rf"(?<![\w.,/$]){count}{hours}(?!\s*(?:since|on\b|ago|per|a\s|/|to\b|smoh))")
        if found is not None and number(found["n"]) > 100:
            text.take(found, "state.airframe_hours_h", number(found["n"]), "unclear", "hours of what is not said; read as "
                      "those of the airframe")


def _left_and_right(text: AdvertisementText) -> None:
    """Read `both engines: L 1,510 R 480`."""
    key = "engine.hours_since_overhaul_h"
    for match in text.matches(rf"\b(?:left|L)\s*:?\s*(?P<l>{NUMBER})\s*(?:hrs?\.?|hours?)?[\s,/&]*(?:and\s*)?\b(?:right|R)\s*:?\s*(?P<r>{NUMBER})\b(?!\s*(?:gal|usable|lbs?))"):
        about = list(re.finditer(r"\b(?:(?P<engine>engines?)|props?|propellers?|tanks?)\b", text.sentence_before(match.start())))
        if about and about[-1]["engine"] and not text.has(key):
            text.take(match, key, (number(match["l"]), number(match["r"])), "unclear", "since what is not said")


def _keep_untagged(text: AdvertisementText, match: re.Match[str], key: str) -> None:
    """Keep hours that only an object names; a second figure counts where it is that of the other engine."""
    value = number(match["n"])
    hours = "h" in match[0].lower().split(match["n"])[-1]
    if (1930 <= value <= 2035 and not hours) or (text.has(key) and not side_of(text, match.start("n"))):
        return
    end, _, interval = interval_after(text, match.end(), (value,)) if not key.startswith("state") else (match.end(), (), None)
    kind = "prop" if key.startswith("prop") else "overhaul" if key.startswith("engine") else "airframe"
    end, when = date_after(text, end, kind)
    note = "" if key.startswith("state") else "since what is not said"
    text.take_span(match.start(), end, key, both_sides(text, key, value, match.start("n")), "said" if not note else "unclear", note)
    words, place = text.found[-1].words, text.found[-1].start
    add_interval(text, key, interval, words, place)
    if when is not None:
        add_date(text, key, when, words, place)


_EVENT = re.compile(r"(?P<reman>re-?man|factory\s*(?:new|rebuilt)|exchange)|(?P<oh>overhaul|major|rebuil|o/h)|(?P<new>\bnew\b|zero[- ]time)")


def _prose(text: AdvertisementText) -> None:
    """Read hours counted from what the sentence told before: `overhauled in 2018 with 290 hours on each`."""
    key = "engine.hours_since_overhaul_h"
    for match in text.matches(rf"(?<![\w.,$]){ABOUT}(?P<n>{NUMBER})\s*(?:hrs?\.?|hours?)\s*(?:(?:on|since)\s*(?:each|both|then|that|it)\b|since\s*(?=[.,;!)\x01]|$))"):
        before = text.sentence_before(match.start())
        about = [(m.end(), name) for name, p in OBJECTS.items() for m in re.finditer(p, before)]
        events = list(_EVENT.finditer(before))
        if text.has(key) or (max(about)[1] != "engine" if about else not events):
            continue
        note = f"since what the sentence says before: {events[-1][0]}" if events else "since what is not said"
        text.take(match, key, number(match["n"]), "read as" if events else "unclear", note)
        if any(e["reman"] or e["oh"] for e in events):
            basis = "factory remanufacture" if any(e["reman"] for e in events) else "overhaul"
            add(text, "engine_hours_since", basis, text.found[-1].words, text.found[-1].start)
            _year_of_event(text, match.start() - len(before), before[events[0].start():], events[0].start())


def _year_of_event(text: AdvertisementText, start: int, words: str, skipped: int) -> None:
    """Take the one year told with an overhaul in the same clause: `overhauled by a shop in March 2015`."""
    years = list(re.finditer(r"\b(?:19[5-9]\d|20[0-3]\d)\b", words.split(",", maxsplit=1)[0]))
    if len(years) == 1 and not text.has("engine.overhaul_year"):
        place = start + skipped + years[0].start()
        if "\x01" not in text.rest[place:place + 4]:
            text.take_span(place, place + 4, "engine.overhaul_year", float(years[0][0]))


def read_names(text: AdvertisementText) -> None:
    """Set serial numbers and registrations aside: they are no hours."""
    for match in text.matches(r"\bS/N[\s:#]*[A-Z0-9-]*\d[A-Z0-9-]*|\bserial\s*(?:number|no\.?|#)?[\s:]*[A-Z0-9-]*\d[A-Z0-9-]*"
                              r"|(?<!\d)(?<!\d )(?<!hrs )(?<!hours )\bSN\s+\d[\w-]*"):
        text.take(match, "serial", re.sub(r"^(?:S/?N|serial\s*(?:number|no\.?|#)?)[\s:#]*", "", match[0], flags=re.IGNORECASE))
    for match in text.matches(r"\bN-?\d{1,5}[A-Z]{0,2}\b(?!\s*(?:hrs|hours))"):
        text.take(match, "registration", match[0].upper())


_ZERO = (r"\b(?:zero[- ]?timed?(?:\s*engine)?|0[- ]timed?(?:\s*engine)?|(?:fresh|brand[- ]?new|new|recent)(?:ly)?\s*(?:major\s*)?"
         r"(?:engine\s*)?(?:o/?h\b|overhaul(?:ed)?\b)(?:\s*engine)?|freshly\s*overhauled(?:\s*engine)?)")


def read_words_for_hours(text: AdvertisementText) -> None:
    """Read words that stand for hours: zero time, fresh overhaul, run-out, low time."""
    key = "engine.hours_since_overhaul_h"
    for match in text.matches(_ZERO):
        exact = match[0].lower().startswith(("zero", "0"))
        if text.has(key) or "prop" in text.after(match.end(), 12) + text.before(match.start(), 8):
            continue
        text.take(match, key, 0.0 if exact else (0.0, 15.0, 50.0), "said" if exact else "read as",
                  "" if exact else "a fresh overhaul: nought to 50 hours")
        add(text, "engine_hours_since", "overhaul", text.found[-1].words, text.found[-1].start)
    shares = ((r"\brun-?\s?out(?:\s*engines?)?\b|\bR/O\b|\btimed[- ]?out\b|\b(?:past|over|beyond|at)\s*TBO\b|\bcore\s*engine\b|\bneeds\s*"
               r"(?:an?\s*)?(?:engine|overhaul)\b", (0.95, 1.0, 1.15)),
              (r"\bmid-?\s?time(?:\s*engine)?\b", (0.35, 0.5, 0.65)), (r"\blow[- ]time\s*engine\b", (0.02, 0.12, 0.25)))
    for pattern, share in shares:
        for match in text.matches(pattern):
            text.take(match, "engine_hours_of_tbo_share", share, "read as",
                      "no number of hours; a share of the overhaul interval is taken")
    for match in text.matches(r"\blow[- ](?:total\s*)?time\b|\blow\s*TT\b|\bLTT\b|\bhigh[- ]time\b|\blow\s*hours\b"):
        text.take(match, "vague_hours", match[0].lower(), "unclear", "low or high of what, and how many hours, is not said")
    for match in text.matches(r"\bon[- ]condition\b|\bO/C\b|\bnew\s*engine\b"):
        text.take(match, "vague_hours", match[0].lower(), "unclear", "how many hours, since what?")


_FIRST_ENGINE_H = 1_200.0
"""Below so many hours an airframe with no overhaul named most likely still has its first engine."""


def first_engine(text: AdvertisementText) -> None:
    """Take the hours of the airframe for those of the engine where no overhaul is named and they are few."""
    source = next((f for f in text.found if f.key == "state.airframe_hours_h"), None)
    keys = ("engine.hours_since_overhaul_h", "engine_hours_of_tbo_share", "vague_hours", "engine.overhaul_year")
    if source is None or any(text.has(key) for key in keys):
        return
    since_new = "TTSN" in source.words.upper()
    if since_new or source.value < _FIRST_ENGINE_H:
        note = "hours since new, no overhaul named" if since_new else "few hours and no overhaul named: the first engine"
        text.found.append(FoundWords("engine.hours_since_overhaul_h", source.value, source.words, source.start, "unclear", note))
        text.found.append(FoundWords("engine_hours_since", "new", source.words, source.start, "unclear", note))
