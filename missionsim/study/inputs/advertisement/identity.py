"""What kind of aircraft an advertisement speaks of: year, places, gear, power, engines, fuel, cabin."""

from __future__ import annotations

import re

from missionsim.study.inputs.advertisement.text import NUMBER, AdvertisementText, FoundWords, full_year, number

_WORDS = {"two": 2, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "ten": 10}
_YEAR = r"(?:19[3-9]\d|20[0-3]\d)"
KIND_WORDS = (r"(?:four|six|two|eight|single|twin|retract|retr\b|RG\b|fixed|high|low|turbo|pressuri|light|trainer|tail|glass|composite|club|"
               r"hauler|\d-?\s?(?:seat|place|pl\b)|\d{3}\s*hp)")
_HP_PER_PS, _HP_PER_KW = 0.98632, 1.34102


def read_identity(text: AdvertisementText, this_year: int) -> None:
    """Find what kind of aircraft it is."""
    _year(text, this_year)
    _power(text)
    _seats(text)
    _gear(text)
    _plain(text)


def _power(text: AdvertisementText) -> None:
    unit = r"(?P<u>h\.?\s?p\.?|bhp|shp|horse\s*power|horses|PS|kW)(?![a-z])"
    for match in text.matches(rf"\b(?:2\s*x\s*|two\s*x?\s*|twin\s+)(?P<n>\d{{2,4}})\s*(?:{unit}|s\b|(?=[\s,.;]|$))"):
        if match["u"] is None and not 90 <= float(match["n"]) <= 700:
            continue
        text.take(match, "engine.rated_hp", _hp(float(match["n"]), match["u"] or "hp"), note="each of two engines")
        _engines(text, 2)
    for match in text.matches(rf"\b(?:HP|horse\s*power)\s*[:=]\s*(?P<n>{NUMBER})\b"):
        if 40 <= number(match["n"]) <= 1_500 and not text.has("engine.rated_hp"):
            text.take(match, "engine.rated_hp", number(match["n"]))
    for match in text.matches(rf"(?<![\w.,])(?:{NUMBER}\s*(?:h\.?p\.?\s*)?(?:up-?graded|converted|changed|increased)\s*(?:to|with)\s*(?:an?\s*)?)?(?P<n>{NUMBER})\s*-?\s*{unit}(?:\s*(?P<each>each|per\s*side|a\s*side))?"):
        value = number(match["n"])
        if 40 <= value <= 1_500 and not text.has("engine.rated_hp"):
            converted = match["u"].lower() in ("ps", "kw")
            text.take(match, "engine.rated_hp", _hp(value, match["u"]), "converted" if converted else "said")
            if match["each"]:
                _engines(text, 2)


def _hp(value: float, unit: str) -> float:
    scale = {"ps": _HP_PER_PS, "kw": _HP_PER_KW}.get(unit.lower(), 1.0)
    return round(value * scale) if scale != 1.0 else value


def _engines(text: AdvertisementText, count: int) -> None:
    if not text.has("engine.count"):
        text.found.append(FoundWords("engine.count", count, text.found[-1].words, text.found[-1].start))


def _seats(text: AdvertisementText) -> None:
    count = r"(?P<n>\d|1\d|two|four|five|six|seven|eight|ten)"
    pattern = (rf"\b{count}\s*-?\s*(?:seat(?:er|s)?|Sitzer|place|pl\b\.?|passenger\s*seats|pax|persons?)\b(?:\s*(?:single|aircraft))?"
               rf"|\b(?:seats|seating\s*(?:for)?|seats\s*for)\s*:?\s*(?P<m>\d|1\d|two|four|five|six|seven|eight|ten)\b")
    for match in text.matches(pattern):
        word = (match["n"] or match["m"]).lower()
        if re.match(r"\s*(?:o2|oxy|intercom|heads)", text.after(match.end(), 12)):
            continue
        if not text.has("identity.seats"):
            text.take(match, "identity.seats", _WORDS.get(word) or int(word))


def _gear(text: AdvertisementText) -> None:
    for match in text.matches(r"\btail-?(?:wheel|dragger)[- ]free\b"):
        text.take(match, "gear_kind", "nose wheel")
    for match in text.matches(r"\b(?:fixed[- ](?:gear|undercarriage|landing\s*gear)|straight[- ]?leg(?:ged)?|gear\s*(?:is\s*)?(?:welded|down\s*and\s*welded)|"
                              r"fixed\s*tri(?:cycle)?\s*gear)\b"):
        text.take(match, "identity.gear", "fixed")
    for match in text.matches(r"\b(?:retractables?|retracts?|retr\.?|folding\s*gear|Einziehfahrwerk|R/G|RG|retractable\s*(?:landing\s*)?gear)\b(?:\s*gear)?"):
        text.take(match, "identity.gear", "retractable")
    for match in text.matches(r"\b(?:tail-?wheel|tail-?dragger|conventional\s*gear|T/W)\b"):
        text.take(match, "gear_kind", "tail wheel")
        if not text.has("identity.gear"):
            text.found.append(FoundWords("identity.gear", "fixed", text.found[-1].words, text.found[-1].start, "read as",
                                    "a tail wheel, read as fixed gear"))
    for match in text.matches(r"\b(?:tricycle(?:\s*gear)?|tri[- ]gear|nose\s*wheel)\b"):
        text.take(match, "gear_kind", "nose wheel")


_PLAIN: tuple[tuple[str, str, object], ...] = (
    (r"\b(?:un|non-?\s*)pressuri[sz]ed\b", "identity.pressurised", False),
    (r"\bpressuri[sz]ed\b|\bpressuri[sz]ation\b", "identity.pressurised", True),
    (r"\bturbo-?\s?props?\b|\bturbine(?:\s*single)?\b", "turbine", True),
    (r"\bturbo-?\s?(?:charged|normali[sz]ed|charger|d)\b|\btwin\s*turbos?\b|\bturbos?\b|\bT/N\b|\bTN\b", "engine.aspiration", "turbo"),
    (r"\bnormally\s*aspirated\b|\bnon-?\s?turbo\b|\bN/A\s*engine\b", "engine.aspiration", "normal"),
    (r"\bdiesel\b(?:[\s,/]*Jet-?\s?A-?1?)?|\bburns\s*Jet-?\s?A\b|\bJet-?\s?A-?1?\b", "engine.fuel", "jet_a"),
    (r"\b(?:light|medium|cabin-class|multi-engine|multi)?\s*twin\b(?:[\s-]*engined?)?|\bmulti-?engined?\b", "engine.count", 2),
    (r"\bsingle[- ]engined?\b|\b(?:high|low)[- ]wing\s*single\b|\bsingle\b(?!\s*(?:axis|owner|pilot|screen|nav|battery|-))", "engine.count", 1),
    (r"\bcabin-?class\b", "cabin", "cabin class"),
    (r"\b(?:S-LSA|E-LSA|SLSA|ELSA|LSA|light[- ]sport)\b!?", "certificate", "light sport"),
    (r"\b(?:E-AB|EAB|experimental|amateur[- ]built|home-?built|kit-?built)\b", "certificate", "experimental"),
    (r"\b(?:modern\s*)?composite\b(?:\s*airframe)?", "construction", "composite"),
    (r"\bC/R\b|\bcounter-?\s?rot(?:ating|\.)?(?:\s*props?)?\b", "counter_rotating", True),
    (r"\bhigh[- ]wing\b", "wing", "high"), (r"\blow[- ]wing\b", "wing", "low"),
    (r"\b(?:N|G|D|EASA|C)-?\s?reg(?:istered|istration|\.)?\b", "register", True),
    (r"\bhaulers?\b|\bload\s*haulers?\b", "use", "hauler"),
    (r"\b(?:trainer)(?:-type)?\b|\bcivil\s*trainer\b", "use", "trainer"),
    (r"\bfuel[- ]inject(?:ed|ion)\b", "engine.fuel_injected", True),
    (r"\bcarburet(?:t)?(?:or|ed|or)s?\b|\bcarbd?\b(?!\s*(?:heat|temp))", "engine.fuel_injected", False),
    (r"\b(?:6|six)[- ]?cyl(?:inder|\.)?s?\b", "engine.cylinders", 6), (r"\b(?:4|four)[- ]?cyl(?:inder|\.)?s?\b", "engine.cylinders", 4),
)


def _plain(text: AdvertisementText) -> None:
    for pattern, key, value in _PLAIN:
        for match in text.matches(pattern):
            if key == "identity.pressurised" and re.search(r"(?:not|non|un)\W*$", text.before(match.start(), 8)):
                text.take(match, key, False)
            else:
                text.take(match, key, value)


def _year(text: AdvertisementText, this_year: int) -> None:
    """Find the year of build; years beside paint, damage, overhaul or logs are others."""
    shapes = (
        rf"\b(?:year(?:\s*(?:of\s*)?(?:manufacture|build|built|model))?|yr|built|mfg\.?(?:\s*date)?|manufactured(?:\s*in)?|model\s*year|MY|Bj\.?|Baujahr|new\s*in)"
        rf"[\s:]*(?:in\s*)?(?P<y>{_YEAR})\b",
        rf"(?:^[\s*\u2022-]*|[;\n.!][\s*\u2022-]*|for\s*sale[\s:]*)(?:a\s*|my\s*|our\s*|nice\s*|beautiful\s*|clean\s*)*(?P<y>{_YEAR})\b(?!\s*(?:TT|hrs|hours|h\b|SMOH|lbs?|ft))",
        rf"(?:^|(?<=[,;(!\x01]))\s*(?P<y>{_YEAR})\s*(?:model\s*)?(?=[,;.)\x01]|$)",
        rf":\s*(?P<y>{_YEAR})\s+(?=[a-z]{{3}})(?!hrs|hours|smoh|lbs)",
        rf"\b(?P<y>{_YEAR})\s*(?:model|build|{KIND_WORDS})",
    )
    for pattern in shapes:
        match = text.first(pattern)
        if match is not None and not text.has("identity.year") and int(match["y"]) <= this_year + 1:
            text.take(match, "identity.year", int(match["y"]), group="y")
            return
    match = text.first(rf"(?<![\w/])'(?P<y>\d\d)\b(?!\s*(?:annual))|^\W*(?P<y2>\d\d)\s+(?={KIND_WORDS})")
    if match is not None:
        text.take(match, "identity.year", full_year(int(match["y"] or match["y2"]), this_year), "read as")
        return
    _year_beside_kind(text, this_year)


_OTHER_YEAR = re.compile(r"\b(?:in|since|until|till|before|after|from|paint\w*|int(?:erior)?|overhaul\w*|new|install\w*|upgrad\w*|conver\w*|replac\w*|"
                         r"retrofit|damage\w*|annual|panel|avionics|windows|fabric|recover\w*|logs?|rebuil\w*|restor\w*|mods?|STC|done|major\w*|repair\w*)\b",
                         re.IGNORECASE)


def _year_beside_kind(text: AdvertisementText, this_year: int) -> None:
    """Find a year in a clause that tells the kind of aircraft and nothing that happened later."""
    for match in text.matches(rf"(?<![\w/.,$'-])(?P<y>{_YEAR})(?![\w/]|,\d|\s*(?:hrs?|hours?|h|lbs?|ft|rpm|TBO|TT|S[A-Z]{{2,}})\b)"):
        before, after = text.before(match.start(), 60), text.after(match.end(), 40)
        kind = re.search(KIND_WORDS, before, re.IGNORECASE) or re.match(r"\s*" + KIND_WORDS, after, re.IGNORECASE)
        if kind and not _OTHER_YEAR.search(before) and not re.match(rf"\s*{_OTHER_YEAR.pattern}", after, re.IGNORECASE) \
                and int(match["y"]) <= this_year + 1:
            text.take(match, "identity.year", int(match["y"]), group="y")
            return
