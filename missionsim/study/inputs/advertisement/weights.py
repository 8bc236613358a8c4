"""Weights, fuel, speed, consumption, range and runway figures of an advertisement, in whatever unit they stand."""

from __future__ import annotations

import re
from collections.abc import Iterable

from missionsim.physics.units import LB_PER_KG
from missionsim.study.inputs.advertisement.text import ABOUT, NUMBER, AdvertisementText, FoundWords, number

KT_PER_MPH, KT_PER_KMH, GAL_PER_L, GAL_PER_IMP, NM_PER_SM = 0.868976, 0.539957, 0.264172, 1.20095, 0.868976
_LB = r"(?P<u>lbs?\.?|pounds?|#|kgs?\.?|kilos?)?"
_N = rf"{ABOUT}(?P<n>{NUMBER})"
LEAST_RUNWAY_FT, MOST_RUNWAY_FT = 100.0, 10_000.0
"""What a take-off or landing is told to need; what lies beyond is some other figure, such as an obstacle's height. [ft]"""
_IS = r"[\s:=]*(?:is\s*|of\s*|at\s*|was\s*|-\s*)?"

_WEIGHTS: tuple[tuple[str, str, float, float], ...] = (
    ("payload_full_fuel_lb", r"(?:(?:FF|full[- ]?fuel)\s*payload|payload\s*(?:with\s*|w/?\s*|at\s*)?(?:full\s*(?:fuel|tanks)|fuel)|full[- ]?(?:fuel|tanks)\s*payload|FFPL|payload\s*full\s*fuel)", 100, 3_000),
    ("weights.useful_load_lb", r"(?:useful(?:\s*load)?|U/L|UL|Zuladung)", 250, 4_300),
    ("payload_lb", r"(?:payload|(?<![\d-])PL)", 100, 4_000),
    ("max_landing_weight_lb", r"(?:MLW|max(?:imum)?\.?\s*landing(?:\s*weight)?)", 1_000, 12_500),
    ("weights.max_takeoff_lb", r"(?:MGW|MTOW|MTOM|MAUW|AUW|max(?:imum)?\.?\s*(?:gross|take-?off|all-up)(?:\s*(?:weight|wt\.?))?|gross(?:\s*(?:weight|wt\.?))?|GW)", 1_000, 12_500),
    ("weights.empty_weight_lb", r"(?:BEW|EW|(?:basic\s*)?empty(?:\s*(?:weight|wt\.?))?)", 600, 9_000),
)


def read_weights(text: AdvertisementText) -> None:
    """Find weights and fuel."""
    for match in text.matches(rf"\b(?:GWI|gross\s*(?:weight|wt\.?)\s*(?:increase|upgrade))\b(?:\s*(?:STC|kit|mod))?(?:\s*(?:(?P<to>to\s*)(?P<w>{NUMBER})|(?:of\s*|\+)?(?P<n>\d{{2,3}}))\s*lbs?)?"):
        text.take(match, "gross_weight_increase", float(match["n"]) if match["n"] else True)
        if match["to"] and 1_000 <= number(match["w"]) <= 12_500:
            text.found.append(FoundWords("weights.max_takeoff_lb", number(match["w"]), text.found[-1].words, text.found[-1].start))
    for shape in _SHAPES:
        for key, words, low, high in _WEIGHTS:
            for match in text.matches(shape.format(words=words)):
                value, how = _pounds(match)
                if low <= value <= high and not text.has(key) and not _labelled(text, match, shape):
                    text.take(match, key, value, how)  # type: ignore[arg-type]
    _fuel(text)


_SHAPES = (r"\b{words}\s*[:=]\s*" + _N.replace("{", "{{").replace("}", "}}") + r"\s*" + _LB + r"(?![\w%])",
           r"(?<![\w.,$])" + _N.replace("{", "{{").replace("}", "}}") + r"\s*" + _LB + r"\s*(?:of\s*)?{words}\b",
           r"\b{words}" + _IS + _N.replace("{", "{{").replace("}", "}}") + r"\s*" + _LB + r"(?![\w%])")
"""A label with a colon speaks first, then a figure before its word, then one behind it."""

_ANY_WEIGHT = re.compile(rf"\b(?:{'|'.join(words for _, words, _, _ in _WEIGHTS)}){_IS}$", re.IGNORECASE)


def _labelled(text: AdvertisementText, match: re.Match[str], shape: str) -> bool:
    """Return whether a figure before a word belongs to another word before it: `empty 2,412 lbs. Useful 1,388`."""
    return shape == _SHAPES[1] and _ANY_WEIGHT.search(text.original[max(0, match.start() - 40):match.start()]) is not None


def _pounds(match: re.Match[str]) -> tuple[float, str]:
    kg = (match["u"] or "").lower().startswith(("kg", "kilo"))
    value = number(match["n"])
    return (round(value * LB_PER_KG), "converted") if kg else (value, "said")


def _fuel(text: AdvertisementText) -> None:
    """Find usable fuel; a figure without the word usable is a capacity."""
    unit = r"(?P<u>imp(?:erial)?\.?\s*gal(?:lons?|s)?\.?|(?:US\s*)?gal(?:lons?|s)?\.?|USG|l\b|lit(?:re|er)s?|ltrs?)(?![a-z])"
    no_flow = r"(?!\s*(?:/|per\b(?!\s*(?:side|wing|tank))|an?\s+h|ph|p/h|hr|hour|a\s*side\s*tip))"
    shapes = (
        rf"(?<![\w.,])(?:(?P<x>2|two|3|three|4|four)\s*(?:x|\s)\s*)?{_N}\s*-?\s*{unit}{no_flow}\s*(?:of\s*fuel\s*)?(?P<us>usable|useable)?",
        rf"(?<![\w.,]){_N}\s*(?P<us>usable|useable)(?P<u>)(?!\s*load)",
        rf"\b(?:fuel(?:\s*(?:capacity|cap\.?|tanks?))?|tanks?|usable(?:\s*fuel)?)(?P<us>\s*\(?usable\)?)?[\s:]*{_N}(?:\s*{unit})?{no_flow}(?![\w,.]*\d|\w|%|\s*(?:hrs|hours|kt|gph|%|-|/|x\b))",
    )
    tanks = []
    for i, shape in enumerate(shapes):
        for match in list(text.matches(shape)):
            gallons, how = _gallons(number(match["n"]) * _times(text, match, i), match["u"] or "")
            if not 10 <= gallons <= 500 or (i == 2 and not match["u"] and (gallons > 250 or ":" not in match[0])):
                continue
            usable = bool(match["us"]) or "usable" in text.before(match.start(), 14) + text.after(match.end(), 14).split("(")[0]
            tanks.append((usable, gallons, how, match))
            text.rest = text.rest[:match.start()] + "\x02" * len(match[0]) + text.rest[match.end():]
    _keep_fuel(text, tanks)
    for match in text.matches(r"\b(?:long[- ]range|LR|L/R|aux(?:iliary)?|tip|extended(?:\s*range)?)\s*(?:fuel\s*)?tanks?\b|\bLRF\b|\bL/R\s*fuel\b|\bw/?\s*tips\b|\btips\b"):
        text.take(match, "long_range_tanks", True)


def _times(text: AdvertisementText, match: re.Match[str], shape: int) -> int:
    """Return how many tanks a figure speaks of: `2 x 25 gal`, `25 gal per side`."""
    word = (match["x"] or "").lower() if shape == 0 else ""
    side = re.match(r"\s*(?:usable\s*)?(?:per|a|each)\s*(?:side|wing|tank)\b|\s*each\b", text.after(match.end(), 20))
    return {"2": 2, "two": 2, "3": 3, "three": 3, "4": 4, "four": 4}.get(word, 2 if side else 1)


def _keep_fuel(text: AdvertisementText, tanks: list[tuple[bool, float, str, re.Match[str]]]) -> None:
    text.rest = text.rest.replace("\x02", " ")
    best = max(tanks, key=lambda t: (t[0], t[1]), default=None)
    for usable, gallons, how, match in tanks:
        added = re.search(r"(?:tip|aux)\w*\W*$", text.before(match.start(), 12)) or re.match(r"\W*(?:tip|aux)", text.after(match.end(), 8))
        if best is not None and match is best[3] and not (added and len(tanks) > 1):
            note = "" if usable else "said as a capacity; usable fuel is a little less"
            text.take(match, "tanks.usable_gal", gallons, how, note)  # type: ignore[arg-type]
        else:
            text.take(match, "other_fuel_gal", gallons, how)  # type: ignore[arg-type]


def _gallons(value: float, unit: str) -> tuple[float, str]:
    unit = unit.lower().strip()
    if unit.startswith("imp"):
        return round(value * GAL_PER_IMP, 1), "converted"
    if unit.startswith("l"):
        return round(value * GAL_PER_L, 1), "converted"
    return value, "said"


def read_performance(text: AdvertisementText) -> None:
    """Find cruise, consumption, range, climb, ceiling, stall and runway figures."""
    _corrected(text)
    _flow(text)
    _stall_and_climb(text)
    _runways(text)
    _range(text)
    _cruise(text)


def _corrected(text: AdvertisementText) -> None:
    """Set aside a figure that the seller takes back: `62 l/h? no - 38 l/h`."""
    for match in text.matches(rf"(?<![\w.,])(?:{NUMBER})\s*(?:l/h|gph|kts?|lph|gal/h)\s*\?\s*no\b\W*"):
        text.take(match, "taken_back", " ".join(match[0].split()), note="the seller takes it back")


def _flow(text: AdvertisementText) -> None:
    unit = r"(?P<u>gph|g\.p\.h\.?|gal(?:lons?)?s?\s*(?:/|per|an?)\s*h(?:ou)?r?|l/h(?:r)?|lph|ltr?s?/h(?:r)?|lit(?:re|er)s?\s*(?:/|per|an)\s*h(?:ou)?r?)\b"
    for match in text.matches(rf"(?<![\w.,])(?P<m>{NUMBER}\s*(?:-|to)\s*)?{_N}\s*{unit}"):
        litres = match["u"].lower().startswith("l")
        values = [number(v) for v in re.findall(NUMBER, match["m"] or "")] + [number(match["n"])]
        gph = [v * GAL_PER_L if litres else v for v in values]
        flow: object = round(gph[-1], 1) if len(gph) == 1 else (min(gph), sum(gph) / 2, max(gph))
        if 2 <= gph[-1] <= 120 and not text.has("cruise_fuel_flow_gph"):
            text.take(match, "cruise_fuel_flow_gph", flow, "converted" if litres else "said")
    bare = text.first(r"(?:kts?|knots|KTAS|mph)\s*(?P<at>@|at|on)\s*(?P<n>\d{1,2}(?:\.\d)?)(?![\d,]|\s*(?:,\d|k\b|ft|%|'|\"))")
    if bare is not None and not text.has("cruise_fuel_flow_gph") and 3 <= float(bare["n"]) <= 60:
        text.take_span(bare.start("at"), bare.end("n"), "cruise_fuel_flow_gph", float(bare["n"]), "read as",
                       "a number behind the speed, read as gallons an hour")


def _stall_and_climb(text: AdvertisementText) -> None:
    speed = r"(?P<u>kts?\.?|knots|mph|KIAS|KCAS)"
    for match in text.matches(rf"\bstalls?(?:\s*(?:speed|at|of|is|\(?(?:dirty|landing|full\s*flaps?|flaps\s*down)\)?))*[\s:]*{_N}\s*{speed}?|(?<![\w.,]){_N.replace('?P<n>', '?P<n2>')}\s*"
                              r"(?P<u2>kts?|knots|mph)\s*stall\b"):
        value = number(match["n"] or match["n2"])
        mph = (match["u"] or match["u2"] or "").lower() == "mph"
        text.take(match, "book.vs0_cas_kt", round(value * KT_PER_MPH) if mph else value, "converted" if mph else "said")
    for match in text.matches(rf"(?<![\w.,]){_N}\s*(?:fpm|ft/min|feet\s*(?:per|a)\s*minute)(?:\s*(?:rate\s*of\s*)?climb)?|\b(?:rate\s*of\s*)?climb(?:s|\s*rate)?"
                              rf"(?:\s*(?:at|of|is))?[\s:]*{_N.replace('?P<n>', '?P<n2>')}\s*(?:fpm|ft/min)?(?![\w%])"):
        value = number(match["n"] or match["n2"])
        if 200 <= value <= 4_000:
            text.take(match, "book.climb_fpm", value)
    for match in text.matches(rf"\b(?:service\s*)?ceiling(?:\s*(?:of|is|at))?[\s:]*{_N}\s*(?:ft|feet|')?|\b(?:certified|approved|good)\s*(?:to|at)\s*FL\s?(?P<fl>\d{{3}})\b"):
        value = float(match["fl"]) * 100 if match["fl"] else number(match["n"])
        if 8_000 <= value <= 45_000:
            text.take(match, "book.service_ceiling_ft", value)
    for match in text.matches(rf"\b(?:demonstrated\s*|max(?:imum)?\s*)?(?:crosswind|x-?wind)(?:\s*component)?[\s:]*{_N}\s*(?:kts?|knots)?"):
        if 5 <= number(match["n"]) <= 35:
            text.take(match, "limits.demonstrated_crosswind_kt", number(match["n"]))


def _runways(text: AdvertisementText) -> None:
    """Find what take-off and landing need: on the ground, or over an obstacle, named before or behind the figure."""
    over = r"(?:over|to\s*clear|clearing)\s*(?:an?\s*|the\s*)?(?:50(?:\s*-?\s*(?:ft\.?|feet|foot|'))?(?:\s*obst(?:acle|\.)?)?|obstacle)"
    for part, words in (("takeoff", r"(?:take-?\s?off|t/o)"), ("landing", r"(?:landing|ldg\.?)")):
        said = rf"\b{words}(?:\s*(?:distance|roll|run|ground\s*(?:roll|run)))?(?:\s*(?P<before>{over}))?"
        for match in text.matches(rf"{said}(?:\s*(?:of|in|is|needs))?[\s:,]*{_N}\s*(?:ft\b\.?|feet|'|(?(before)(?![\w%])|(?!)))(?P<behind>\s*{over})?"):
            if LEAST_RUNWAY_FT <= number(match["n"]) <= MOST_RUNWAY_FT:
                kind = "over_50ft_ft" if match["before"] or match["behind"] else "ground_roll_ft"
                text.take(match, f"book.{part}.{kind}", number(match["n"]))


def _range(text: AdvertisementText) -> None:
    unit = r"(?P<u>nm|nmi|nautical(?:\s*miles)?|sm|statute(?:\s*miles)?|mi(?:les)?|km)?"
    reserve = r"(?P<r>\s*(?:\(?(?:no|w/?\s*out|without|with|w/|plus|\+)\s*(?:\d+\s*min\w*\s*)?(?:VFR\s*|IFR\s*)?res(?:erves?|\.)?\)?))?"
    shapes = (rf"\brange(?:\s*(?:of|is|with\s*long\s*range\s*tanks))?[\s:]*{_N}\s*{unit}{reserve}",
              rf"(?<![\w.,]){_N}\s*-?\s*(?P<u>nm|nmi|nautical\s*miles?|sm|statute\s*miles?|miles?|mile)\s*(?:of\s*|max\s*)?(?:range|legs?)\b{reserve}")
    for shape in shapes:
        for match in text.matches(shape):
            value, word = number(match["n"]), (match["u"] or "").lower()
            if not 150 <= value <= 3_000 or text.has("book.range.range_nm"):
                continue
            statute = word.startswith(("s", "mi"))
            nm = round(value * NM_PER_SM) if statute else round(value * KT_PER_KMH) if word == "km" else value
            said = (match["r"] or "").lower()
            note = ("without reserve" if re.search("no|out", said) else "with a reserve") if said else "whether with a reserve is not said"
            if statute and word.startswith("mi"):
                note = f"miles read as statute; {note}"
            text.take(match, "book.range.range_nm", nm, "converted" if nm != value else "said", note)


def _cruise(text: AdvertisementText) -> None:
    """Find cruise speeds: the lowest where several stand, since the highest is a best day."""
    shapes = (rf"(?<![\w.,/])(?:(?P<lo>\d{{2,3}})\s*(?:-|to)\s*)?{_N}\s*(?P<u>KTAS|kts?\.?|knots?|mph|km/h|kmh|kph)(?![\w/])(?:\s*(?:true|TAS|cruise|cruising))?",
              rf"\b(?:cruis(?:e|es|ing)|TAS|trues?)(?:\s*(?:speed|at|of|is|out\s*at))*[\s:]*(?:(?P<lo>\d{{2,3}})\s*(?:-|to)\s*)?{_N}(?P<u>)(?![\w%,.]|\s*(?:gph|ft|hp|fpm|rpm|mph|kts?|knots|km))")
    speeds: list[tuple[int, bool, bool, re.Match[str]]] = []
    for shape in shapes:
        for match in text.matches(shape):
            around = text.before(match.start(), 22) + " | " + text.after(match.end(), 14)
            if re.search(r"stall|x-?wind|crosswind|vne|vno|vfe|gear\s*speed|flap|approach|wind|top\s*speed|max(?:imum)?\s*speed", around):
                continue
            word = (match["u"] or "").lower()
            value = number(match["lo"] or match["n"])
            mph, kmh = word == "mph", word.startswith(("km", "kp"))
            knots = round(value * (KT_PER_MPH if mph else KT_PER_KMH if kmh else 1.0))
            if 55 <= knots <= 350 and not any(m.start() <= match.start() < m.end() for *_, m in speeds):
                speeds.append((knots, mph or kmh, not word, match))
    if not speeds:
        return
    lowest = min(speeds, key=lambda s: s[0])
    for knots, converted, bare, match in speeds:
        many = "the lowest of several speeds" if len(speeds) > 1 and match is lowest[3] else ""
        note = "; ".join(n for n in ("no unit: read as knots" if bare else "", many) if n)
        key = "cruise_tas_kt" if match is lowest[3] else "other_speed_kt"
        text.take(match, key, knots, "unclear" if bare else "converted" if converted else "said", note)
    _level_and_power(text, (lowest[3].start(), lowest[3].end()))


def _level_and_power(text: AdvertisementText, span: Iterable[int]) -> None:
    """Find the level and the share of power beside the cruise speed."""
    start, end = span
    lead = re.split(r",(?!\d{3})|[;\n]|\.(?!\d)", text.original[max(0, start - 30):start])[-1]
    near = lead + text.original[start:end + 45]
    level = re.search(r"\b(?:FL|flight\s*level)\s?(\d{3})\b|(?:at|@)\s*(\d{1,2}(?:,\d{3}|k|,?000))\s*(?:ft|feet|'|msl)?|\b(\d{1,2},?\d{3})\s*(?:ft|feet|')", near, re.IGNORECASE)
    if level:
        word = level[1] or level[2] or level[3]
        feet = float(level[1]) * 100 if level[1] else float(re.sub(r"k$", "000", word.lower()).replace(",", ""))
        place = start - len(lead) + level.start()
        text.found.append(FoundWords("cruise_level_ft", feet, level[0].strip(), place))
        text.rest = text.rest[:place] + "\x01" * len(level[0]) + text.rest[place + len(level[0]):]
    power = re.search(r"\b([4-8]\d)\s?%", near)
    if power:
        place = start - len(lead) + power.start()
        text.found.append(FoundWords("cruise_power_share", float(power[1]) / 100, power[0], place))
        text.rest = text.rest[:place] + "\x01" * len(power[0]) + text.rest[place + len(power[0]):]
