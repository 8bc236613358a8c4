"""Hours of airframe, engine and propeller that a tag of the trade marks, number and tag in either order."""

from __future__ import annotations

import re

from missionsim.study.inputs.advertisement.hours_beside import (
    BASIS,
    KIND,
    HourToken,
    add,
    add_date,
    add_interval,
    both_sides,
    date_after,
    interval_after,
    object_of,
    past_event,
    year_or_hours,
)
from missionsim.study.inputs.advertisement.hours_in_words import (
    read_left,
    read_names,
    read_untagged,
    read_words_for_hours,
)
from missionsim.study.inputs.advertisement.text import ABOUT, NUMBER, AdvertisementText, FoundWords, numbers

_OH = r"(?:overhauls?|overhauled|o/?h(?:aul)?)"
TAGS: tuple[tuple[str, str], ...] = (
    ("both", r"TTAF\s?(?:&|/|and)\s?E\b|TT(?:AF)?\s?/\s?(?:SNEW|SN|TTE|E)\b|TTAFE|TTAE|TTA&E|AFE|airframe\s*(?:and|&|\+)\s*engine\s*(?:total(?:\s*time)?)?"),
    ("engine_total", r"TTE(?:ng)?|ETT|engine\s*total(?:\s*time)?|total(?:\s*time)?\s*(?:on\s*)?(?:the\s*)?engine"),
    ("prop", rf"T?SPOH|SPROH|SPO|since\s*prop(?:eller)?\s*{_OH}|prop(?:eller)?\s*(?:since\s*)?{_OH}"),
    ("prop_new", r"SPNEW|SNP|SPN|since\s*new\s*prop(?:eller)?"),
    ("top", rf"S?TOH|TSTOH|SCOH|since\s*(?:the\s*)?(?:complete\s*)?top(?:\s*{_OH})?|since\s*(?:new\s*)?"
            r"(?:cylinders|jugs)"),
    ("hot", r"TSHSI|SHSI|SHOT|since\s*(?:hot[- ]section(?:\s*inspection)?|HSI)"),
    ("iran", r"SIRAN|since\s*IRAN"),
    ("factory", rf"SFOH|SFO|FOH|since\s*factory\s*{_OH}"),
    ("reman", r"SFRE?M(?:AN)?|SFRB|FRMAN|SREMAN|S?RMFG|(?:since|on)\s*(?:an?\s*)?(?:factory\s*)?(?:re-?man(?:ufactured?)?|rebuilt|rebuild)"),
    ("fwf", r"SFWF|since\s*firewall[- ]forward(?:\s*overhaul)?"),
    ("overhaul", rf"T?SMOH|MOH|SMO|since\s*(?:an?\s*|the\s*|last\s*)?(?:(?:19[5-9]\d|20[0-3]\d)\s*)?(?:major(?:\s*{_OH})?|field\s*{_OH})"),
    ("some_overhaul", rf"TSOH|TSO|SOH|since\s*(?:an?\s*|the\s*|last\s*)?(?:(?:19[5-9]\d|20[0-3]\d)\s*)?(?:engine\s*)?{_OH}"),
    ("airframe", r"TTAF|TTSN|ACTT|AFTT|TTA|TTAIR|TT|total\s*(?:time|hours|hrs)(?:\s*(?:on\s*)?(?:the\s*)?airframe)?"
                 r"|airframe\s*(?:total\s*(?:time)?|time|hours|hrs)|hrs\.?\s*total|hours\s*total|total"
                 r"|(?:hrs\.?|hours)\s*(?:AF|airframe)|on\s*(?:the\s*)?airframe"),
    ("new", r"SFNEW|SNEW|SFN|TSN|since\s*(?:factory\s*)?new"),
    ("sn", r"SN"),
    ("tbo", r"TBO(?:\s*(?:is|of))?|TBR|HTBO"),
    ("cycles", r"CSN|cycles(?:\s*since\s*new)?"),
    ("meter", r"tach(?:\s*time)?|hobbs(?:\s*time)?"),
)
"""Tag kinds in the order in which they are tried; the first that fits speaks."""

_UNIT = r"\s*(?:hrs?\.?|hours?|h\.?|std\.?)?"
_COUNT = (rf"{ABOUT}(?:{NUMBER})(?:\s*(?:/|&|and|\+)\s*(?:(?:right|RH|RE|R)\b\s*(?:engine\b\s*)?)?(?:{NUMBER}))?(?!\s*(?:hp|shp|bhp|lbs?|gal|kts?|knots|mph|nm|ft"
          r"|gph|usable|useful|%|k\b|gallons|pounds|years?|yrs?|seats?|place))")
_TAG = "|".join(rf"(?P<t{i}>(?<![A-Za-z])(?:{pattern})\b)" for i, (_, pattern) in enumerate(TAGS))
_TOKEN = re.compile(rf"(?P<count>(?<![\w.,/$'\u20ac\u00a3-]){_COUNT})(?P<unit>{_UNIT}\b|{_UNIT})|{_TAG}", re.IGNORECASE)
_BREAK = re.compile(r"[,;\n!()]|\.\s|\x01")
_LINK = re.compile(r"[\s:=.~-]*(?:(?:on|the|both|each|is|are|of|at|has|with|per|side|engines?|eng\.?|motors?|props?|"
                   r"left|right|hrs?|hours?|h)\b[\s:=.-]*)*", re.IGNORECASE)


def read_hours(text: AdvertisementText) -> None:
    """Find every hour figure of an advertisement."""
    read_names(text)
    read_left(text)
    _slashed_tags(text)
    for chain in _chains(text):
        _pairs(text, chain)
    read_untagged(text)
    read_words_for_hours(text)


def _tokens(text: AdvertisementText) -> list[HourToken]:
    found = []
    place = 0
    while (match := _TOKEN.search(text.rest, place)) is not None:
        place = max(match.end(), match.start() + 1)
        if "\x01" in match[0]:
            continue
        if match["count"] is not None:
            end = match.end("count")
            found.append(HourToken(match.start("count"), end, "count", match["count"]))
            place = end
        else:
            index = next(i for i in range(len(TAGS)) if match[f"t{i}"] is not None)
            found.append(HourToken(match.start(), match.end(), TAGS[index][0], match[0]))
    return found


def _chains(text: AdvertisementText) -> list[list[HourToken]]:
    """Return runs of numbers and tags with nothing between them but blanks, colons and words of no weight."""
    chains: list[list[HourToken]] = []
    for token in _tokens(text):
        gap = text.rest[chains[-1][-1].end:token.start] if chains else "x"
        joined = bool(chains) and not _BREAK.search(gap) and _LINK.fullmatch(gap) is not None
        if joined:
            chains[-1].append(token)
        else:
            chains.append([token])
    return chains


def _pairs(text: AdvertisementText, chain: list[HourToken]) -> None:
    """Pair each tag of a chain with its number: in a chain that begins with a tag, tags come first."""
    i = 0
    while i + 1 < len(chain):
        a, b = chain[i], chain[i + 1]
        if a.is_number == b.is_number:
            i += 1
            continue
        count, tag = (a, b) if a.is_number else (b, a)
        _keep(text, count, tag, min(a.start, b.start), max(a.end, b.end))
        i += 2


def _keep(text: AdvertisementText, count: HourToken, tag: HourToken, start: int, end: int) -> None:
    values = numbers(count.text)
    rough = re.match(r"\s*(approx|about|around|roughly|est|ca|~|\+/-)", count.text, re.IGNORECASE) is not None
    note = "an estimate in the seller's own words" if rough else ""
    interval: tuple[float, str] | None = None
    if tag.kind in _WITH_INTERVAL:
        end, values, interval = interval_after(text, end, values)
    kind = _meaning(text, tag, start, end, values)
    if kind is None or past_event(text, count, tag, kind) or year_or_hours(text, count, tag, kind):
        return
    end, when = date_after(text, end, kind)
    inside = re.search(r"\b(?:19|20)\d\d\b", tag.text)
    when = float(inside[0]) if inside else when     # since 2006 overhaul
    if kind == "airframe" and len(values) == 2:
        _airframe_and_engine(text, values, start, end)
        return
    read: object = values[0] if len(values) == 1 else tuple(values)
    key, value = _key_and_value(text, kind, read, start, end)
    how, said = ("said", note) if kind != "some_overhaul" else ("said", note or "overhaul of the engine, as it reads")
    if kind == "meter":
        how, said = "unclear", "a meter reading; meters are replaced"
    text.take_span(start, end, key, value, how, said)  # type: ignore[arg-type]
    place = text.found[-1].start
    words = text.found[-1].words
    if kind == "both":
        add(text, "engine.hours_since_overhaul_h", value, words, place)
        add(text, "engine_hours_since", "new", words, place)
    if kind in BASIS and key == "engine.hours_since_overhaul_h":
        add(text, "engine_hours_since", BASIS[kind], words, place)
    if kind in KIND:
        add(text, "engine.overhaul_kind", KIND[kind], words, place)
    if key == "propeller.hours_since_overhaul_h":
        add(text, "propeller_hours_since", "new" if kind in ("new", "sn", "prop_new") else "overhaul", words, place)
    add_interval(text, key, interval, words, place)
    if when is not None:
        add_date(text, key, when, words, place)


def _meaning(text: AdvertisementText, tag: HourToken, start: int, end: int, values: tuple[float, ...]) -> str | None:
    """Return what kind of hours a tag means where it stands, None where it says no hours at all."""
    kind = tag.kind
    if kind == "airframe" and tag.text.lower() == "total" and object_of(text, start, end) == "engine":
        return "engine_total"
    if kind == "some_overhaul" and (values[0] > 6_000 or re.search(r"[$\u20ac\u00a3]\s*$", text.original[max(0, start - 2):start])):
        return None  # an offer, not an overhaul
    if kind == "tbo" and values[0] < 800:
        return None
    if kind == "tbo" and re.search(r"\b(?:to|until|before|left|remain\w*)\s*$", text.rest[:tag.start].lower()):
        return "left"
    return _of_what(text, kind, start, end) if kind in ("new", "sn", "some_overhaul") else kind


def _of_what(text: AdvertisementText, kind: str, start: int, end: int) -> str:
    """Return whose hours a tag without an object of its own counts."""
    about = object_of(text, start, end)
    if about == "prop":
        return "prop_new" if kind in ("new", "sn") else "prop"
    alone = kind == "new" and not about and not text.has("state.airframe_hours_h")
    if about == "airframe" or (alone and not re.search(r"\bTT|total", text.original, re.IGNORECASE)):
        return "airframe"
    return kind


def _airframe_and_engine(text: AdvertisementText, values: tuple[float, ...], start: int, end: int) -> None:
    """Keep `TT 4650/1180`: the hours of the airframe and, since what is not said, of the engine."""
    text.take_span(start, end, "state.airframe_hours_h", values[0])
    if values[1] <= values[0] and not text.has("engine.hours_since_overhaul_h"):
        text.found.append(FoundWords("engine.hours_since_overhaul_h", values[1], text.found[-1].words, text.found[-1].start, "unclear",
                                     "since what is not said"))


_WITH_INTERVAL = frozenset({*BASIS, "prop", "prop_new"})
_KEYS = {"airframe": "state.airframe_hours_h", "both": "state.airframe_hours_h", "engine_total": "engine_total_h",
         "prop": "propeller.hours_since_overhaul_h", "prop_new": "propeller.hours_since_overhaul_h",
         "top": "top_overhaul_h", "hot": "hot_section_h", "iran": "inspected_engine_h", "tbo": "engine.tbo_h",
         "cycles": "cycles", "meter": "meter_h", "left": "engine_hours_left_h"}


def _key_and_value(text: AdvertisementText, kind: str, value: object, start: int, end: int) -> tuple[str, object]:
    key = _KEYS.get(kind, "engine.hours_since_overhaul_h")
    return key, both_sides(text, key, value, start)


def _slashed_tags(text: AdvertisementText) -> None:
    """Read `4650/1180 TT/SMOH` and `TT/SMOH: 4650/1180`."""
    pair = rf"({NUMBER})\s*/\s*({NUMBER})"
    tags = r"(TT(?:AF|SN)?)\s*/\s*(SMOH|SFOH|SFRM|SNEW)"
    whole = r"(?<!\d)(?<!\d[.,'])"       # numbers from their first digit alone: quadratic in a long run of digits
    for match in text.matches(rf"{whole}{pair}\s*{tags}\b|\b{tags}\s*:?\s*{pair}"):
        values = numbers(match[1] or match[7]) + numbers(match[2] or match[8])
        tag = (match[4] or match[6]).upper()
        kind = {"SMOH": "overhaul", "SFOH": "factory", "SFRM": "reman", "SNEW": "new"}[tag]
        text.take(match, "state.airframe_hours_h", values[0])
        words, place = text.found[-1].words, text.found[-1].start
        add(text, "engine.hours_since_overhaul_h", values[1], words, place)
        add(text, "engine_hours_since", BASIS[kind], words, place)


