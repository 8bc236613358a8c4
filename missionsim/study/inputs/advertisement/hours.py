"""Hours of airframe, engine and propeller: number and tag in either order, two engines, intervals, vague words."""

from __future__ import annotations

import re
from dataclasses import dataclass

from missionsim.study.inputs.advertisement.text import ABOUT, NUMBER, AdvertisementText, FoundWords, number, numbers

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
    ("overhaul", rf"T?SMOH|MOH|SMO|since\s*(?:a\s*|last\s*)?(?:major(?:\s*{_OH})?|field\s*{_OH})"),
    ("some_overhaul", rf"TSOH|TSO|SOH|since\s*(?:last\s*)?(?:engine\s*)?{_OH}"),
    ("airframe", r"TTAF|TTSN|ACTT|AFTT|TTA|TTAIR|TT|total\s*(?:time|hours|hrs)(?:\s*(?:on\s*)?(?:the\s*)?airframe)?"
                 r"|airframe\s*(?:total\s*(?:time)?|time|hours|hrs)|hrs\.?\s*total|hours\s*total|total"
                 r"|(?:hrs\.?|hours)\s*(?:AF|airframe)"),
    ("new", r"SFNEW|SNEW|SFN|TSN|since\s*(?:factory\s*)?new"),
    ("sn", r"SN"),
    ("tbo", r"TBO(?:\s*(?:is|of))?|TBR|HTBO"),
    ("cycles", r"CSN|cycles(?:\s*since\s*new)?"),
    ("meter", r"tach(?:\s*time)?|hobbs(?:\s*time)?"),
)
"""Tag kinds in the order in which they are tried; the first that fits speaks."""

BASIS = {"overhaul": "overhaul", "some_overhaul": "overhaul", "factory": "factory overhaul",
         "reman": "factory remanufacture", "fwf": "overhaul", "new": "new", "sn": "new"}
KIND = {"factory": "factory", "reman": "factory"}

_UNIT = r"\s*(?:hrs?\.?|hours?|h\.?|std\.?)?"
_COUNT = (rf"{ABOUT}(?:{NUMBER})(?:\s*(?:/|&|and|\+)\s*(?:(?:right|RH|RE|R)\b\s*(?:engine\b\s*)?)?(?:{NUMBER}))?(?!\s*(?:hp|shp|bhp|lbs?|gal|kts?|knots|mph|nm|ft"
          r"|gph|usable|useful|%|k\b|gallons|pounds|years?|yrs?|seats?|place))")
_TAG = "|".join(rf"(?P<t{i}>(?<![A-Za-z])(?:{pattern})\b)" for i, (_, pattern) in enumerate(TAGS))
_TOKEN = re.compile(rf"(?P<count>(?<![\w.,/$'\u20ac\u00a3-]){_COUNT})(?P<unit>{_UNIT}\b|{_UNIT})|{_TAG}", re.IGNORECASE)
_BREAK = re.compile(r"[,;\n!()]|\.\s|\x01")
_LINK = re.compile(r"[\s:=.~-]*(?:(?:on|the|both|each|is|are|of|at|has|with|per|side|engines?|eng\.?|motors?|props?|"
                   r"left|right|hrs?|hours?|h)\b[\s:=.-]*)*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Token:
    start: int
    end: int
    kind: str
    text: str

    @property
    def is_number(self) -> bool:
        return self.kind == "count"


def read_hours(text: AdvertisementText) -> None:
    """Find every hour figure of an advertisement."""
    _vague(text)
    _left(text)
    _slashed_tags(text)
    for chain in _chains(text):
        _pairs(text, chain)
    _untagged(text)
    _words_for_hours(text)


def _tokens(text: AdvertisementText) -> list[_Token]:
    found = []
    place = 0
    while (match := _TOKEN.search(text.rest, place)) is not None:
        place = max(match.end(), match.start() + 1)
        if "\x01" in match[0]:
            continue
        if match["count"] is not None:
            end = match.end("count")
            found.append(_Token(match.start("count"), end, "count", match["count"]))
            place = end
        else:
            index = next(i for i in range(len(TAGS)) if match[f"t{i}"] is not None)
            found.append(_Token(match.start(), match.end(), TAGS[index][0], match[0]))
    return found


def _chains(text: AdvertisementText) -> list[list[_Token]]:
    """Return runs of numbers and tags with nothing between them but blanks, colons and words of no weight."""
    chains: list[list[_Token]] = []
    for token in _tokens(text):
        gap = text.rest[chains[-1][-1].end:token.start] if chains else "x"
        joined = bool(chains) and not _BREAK.search(gap) and _LINK.fullmatch(gap) is not None
        if joined:
            chains[-1].append(token)
        else:
            chains.append([token])
    return chains


def _pairs(text: AdvertisementText, chain: list[_Token]) -> None:
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


def _keep(text: AdvertisementText, count: _Token, tag: _Token, start: int, end: int) -> None:
    values = numbers(count.text)
    rough = re.match(r"\s*(approx|about|around|roughly|est|ca|~|\+/-)", count.text, re.IGNORECASE) is not None
    note = "an estimate in the seller's own words" if rough else ""
    start, end, values, interval = _interval_after(text, start, end, values)
    kind = _meaning(text, tag, start, end, values)
    if kind is None or _past_event(text, count, tag, kind) or _year_or_hours(text, count, tag, kind):
        return
    end, when = _date_after(text, end, kind)
    read: object = values[0] if len(values) == 1 else tuple(values)
    key, value = _key_and_value(text, kind, read, start, end)
    how, said = ("said", note) if kind != "some_overhaul" else ("said", note or "overhaul of the engine, as it reads")
    if kind == "meter":
        how, said = "unclear", "a meter reading; meters are replaced"
    text.take_span(start, end, key, value, how, said)  # type: ignore[arg-type]
    place = text.found[-1].start
    words = text.found[-1].words
    if kind == "both":
        _add(text, "engine.hours_since_overhaul_h", value, words, place)
        _add(text, "engine_hours_since", "new", words, place)
    if kind in BASIS and key == "engine.hours_since_overhaul_h":
        _add(text, "engine_hours_since", BASIS[kind], words, place)
    if kind in KIND:
        _add(text, "engine.overhaul_kind", KIND[kind], words, place)
    if key == "propeller.hours_since_overhaul_h":
        _add(text, "propeller_hours_since", "new" if kind in ("new", "sn", "prop_new") else "overhaul", words, place)
    if interval and key != "propeller.hours_since_overhaul_h" and not text.has("engine.tbo_h"):
        _add(text, "engine.tbo_h", interval, words, place)
    if when is not None:
        _add_date(text, key, when, words, place)


def _add(text: AdvertisementText, key: str, value: object, words: str, place: int) -> None:
    text.found.append(FoundWords(key, value, words, place))


_MOST_INTERVAL_H = 5_000.0
_TWIN = re.compile(r"\btwin\b(?!\s*turbo)|\b(?:2|two)\s*x\s*\d{2,3}|\bmulti-?engine|\bL\s?/\s?R\b|\b(?:left|right)\b|\b(?:engines|props)\b",
                   re.IGNORECASE)


def _is_interval(hours: float) -> bool:
    return 1_000 <= hours <= _MOST_INTERVAL_H and hours % 50 == 0


def _interval_after(text: AdvertisementText, start: int, end: int, values: tuple[float, ...],
                    ) -> tuple[int, int, tuple[float, ...], float]:
    """Return the words and hours with `of 2000`, `(2000)` or `1180/2000` split into hours used and interval.

    2000 in brackets is the one number that may be a year as well; hours is what stands behind hours most often.
    """
    if len(values) == 2 and _is_interval(values[1]) and values[0] < 1.3 * values[1] and not _TWIN.search(text.original):
        return start, end, values[:1], values[1]
    hours = rf"({NUMBER})(?:\s*-?\s*(?:hrs?|hours?|h))?(?:\s*(?:TBO|overhaul\s*interval))?\b"
    after = re.match(rf"\s*(?:(?:of|/|out\s*of)\s*(?:an?\s*|the\s*)?(?:recommended\s*|usual\s*|factory\s*)?{hours}"
                     rf"|\(\s*(?:of\s*|TBO\s*:?\s*)?{hours}\s*\))", text.rest[end:], re.IGNORECASE)
    found = number(after[1] or after[2]) if after else 0.0
    if after and _is_interval(found) and not (after[2] and text.has("engine.tbo_h") and text.get("engine.tbo_h") != found):
        return start, end + after.end(), values, found
    return start, end, values, 0.0


def _past_event(text: AdvertisementText, count: _Token, tag: _Token, kind: str) -> bool:
    """Set aside hours at which something was done: `new cylinders at 900 SMOH in 2020` tells no hours of today."""
    before = text.before(count.start, 60)
    if kind not in BASIS or not re.search(r"(?:\bat|@)\s*$", before) or not _WORK.search(before):
        return False
    end, _ = _date_after(text, tag.end, kind)
    text.take_span(count.start, end, "event_at_engine_h", numbers(count.text)[0], "said", "when something was done, not today")
    return True


_WORK = re.compile(r"cyl|jugs|\btop|cam\b|crank|replac|install|repair|inspect|IRAN|new\b|mags|magnet|case", re.IGNORECASE)


def _year_or_hours(text: AdvertisementText, count: _Token, tag: _Token, kind: str) -> bool:
    """Set aside `SMOH 1985`: the year of the overhaul, unless tags stand before their hours in this advertisement."""
    year = re.fullmatch(r"(?:19[5-9]\d|20[0-3]\d)", count.text.strip()) is not None and kind in BASIS and tag.start < count.start
    if not year or re.match(r"\s*(?:hrs?|hours?|h)\b", text.rest[count.end:], re.IGNORECASE):
        return False
    if re.search(r"\b(?:TT(?:AF|SN)?|total\s*time)[\s:]*\d[\d,.]*\s*(?:hrs?|hours?)?\s*[,;./|-]?\s+T?S[A-Z]{2,}[\s:]*\d", text.original, re.IGNORECASE):
        return False
    text.take_span(tag.start, count.end, "overhaul_words", tag.text + " " + count.text, "unclear", "hours, or the year of the overhaul?")
    return True


def _date_after(text: AdvertisementText, end: int, kind: str) -> tuple[int, float | None]:
    """Return the end of the words and the year where a date follows hours: `980 SMOH in 2009`, `415 SMOH (06/2017)`."""
    if kind not in _DATED:
        return end, None
    match = re.match(rf"(?:\s*(?:hrs?|hours?|engine)\b)?\s*(?:by\s[^,.;\n()\x01]{{0,30}}?\s)?(?:,\s*done\s*|done\s*|completed\s*)?(?:in\s*|on\s*|\(\s*|-\s*)?{DATED}"
                     r"(?!\s*-?\s*(?:hrs?|hours?|TBO|annual)\b)\s*\)?", text.rest[end:], re.IGNORECASE)
    if match is None:
        return end, None
    year = int(match["y"]) if match["y"] else 2000 + int(match["y2"])
    bare = match["y"] == "2000" and match[0].strip(" ()") == "2000" and "in" not in match[0].lower()
    return (end, None) if bare else (end + match.end(), float(year))


DATED = (r"(?:(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?\s*(?:of\s*)?|\d{1,2}\s*/\s*(?:\d{1,2}\s*/\s*)?)?"
         r"(?P<y>(?:19[5-9]\d|20[0-3]\d))(?!\d|,\d)|(?:0?[1-9]|1[0-2])/(?P<y2>[0-3]\d)(?!\d|/)")
DATED = rf"(?:{DATED})"
_DATED = frozenset({*BASIS, "prop", "prop_new", "top", "hot", "iran"})


def _add_date(text: AdvertisementText, key: str, year: float, words: str, place: int) -> None:
    if key == "engine.hours_since_overhaul_h" and not text.has("engine.overhaul_year"):
        _add(text, "engine.overhaul_year", year, words, place)
    elif key == "propeller.hours_since_overhaul_h" and not text.has("propeller.overhaul_year"):
        _add(text, "propeller.overhaul_year", year, words, place)


_OBJECT = {"prop": r"prop(?:eller)?s?\b", "engine": r"\b(?:eng(?:ine)?s?|motor|l/r|left|right|le|re)\b",
           "airframe": r"airframe|\baf\b"}


def _object(text: AdvertisementText, start: int, end: int) -> str:
    """Return what a tag without its own object speaks of: the nearest word of the same clause."""
    before, after = text.before(start), text.after(end, 20)
    near = [(m.end(), name) for name, p in _OBJECT.items() for m in re.finditer(p, before)]
    if near:
        return max(near)[1]
    inside = text.original[start:end].lower()
    for name, p in _OBJECT.items():
        if re.search(p, inside) or re.match(rf"\s*(?:on\s*)?(?:the\s*|new\s*)?(?:(?:\w+)[\s-]?blade[ds]?\s*)?(?:{p})", after):
            return name
    return ""


def _meaning(text: AdvertisementText, tag: _Token, start: int, end: int, values: tuple[float, ...]) -> str | None:
    """Return what kind of hours a tag means where it stands, None where it says no hours at all."""
    kind = tag.kind
    if kind == "airframe" and tag.text.lower() == "total" and _object(text, start, end) == "engine":
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
    about = _object(text, start, end)
    if about == "prop":
        return "prop_new" if kind in ("new", "sn") else "prop"
    alone = kind == "new" and not about and not text.has("state.airframe_hours_h")
    if about == "airframe" or (alone and not re.search(r"\bTT|total", text.original, re.IGNORECASE)):
        return "airframe"
    return kind


_KEYS = {"airframe": "state.airframe_hours_h", "both": "state.airframe_hours_h", "engine_total": "engine_total_h",
         "prop": "propeller.hours_since_overhaul_h", "prop_new": "propeller.hours_since_overhaul_h",
         "top": "top_overhaul_h", "hot": "hot_section_h", "iran": "inspected_engine_h", "tbo": "engine.tbo_h",
         "cycles": "cycles", "meter": "meter_h", "left": "engine_hours_left_h"}


def _key_and_value(text: AdvertisementText, kind: str, value: object, start: int, end: int) -> tuple[str, object]:
    key = _KEYS.get(kind, "engine.hours_since_overhaul_h")
    return key, _both_sides(text, key, value, start)


_SIDE = re.compile(r"(?:\b(?P<left>left|le|lh|l)|\b(?P<right>right|re|rh|r)|(?:#|\bno\.?\s?|\bengine\s|\bprop\s)(?:(?P<one>1)|(?P<two>2)))\b"
                   r"[\s:]*(?:(?:hand|side)\s*)?(?:eng(?:ine)?|motor|prop(?:eller)?)?\.?[\s:]*$", re.IGNORECASE)


def _side(text: AdvertisementText, start: int) -> str:
    """Return which of two engines the words before hours name, empty where none."""
    match = _SIDE.search(text.before(start, 24))
    return "" if match is None else "left" if match["left"] or match["one"] else "right"


def _both_sides(text: AdvertisementText, key: str, value: object, start: int) -> object:
    """Return the hours of both engines where those of the other were told before."""
    side = _side(text, start)
    earlier = next((f for f in text.found if f.key == key), None)
    if key not in _OF_BOTH or not side or earlier is None or isinstance(earlier.value, tuple) or isinstance(value, tuple):
        return value
    text.found.remove(earlier)
    return (value, earlier.value) if side == "left" else (earlier.value, value)


_OF_BOTH = ("engine.hours_since_overhaul_h", "propeller.hours_since_overhaul_h")


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
        _add(text, "engine.hours_since_overhaul_h", values[1], words, place)
        _add(text, "engine_hours_since", BASIS[kind], words, place)


def _left(text: AdvertisementText) -> None:
    """Read hours still to run: `600 hours left to TBO (2000)`."""
    for match in text.matches(rf"(?<![\w.,])(?P<n>{NUMBER})\s*(?:hrs?|hours?)?\s*(?:left|remaining|to\s*(?:go|run)|(?=to\s*TBO|before\s*TBO|until\s*TBO))\s*"
                              rf"(?:(?:to|until|before|on)\s*(?:the\s*)?(?:TBO|overhaul|engine))?(?:\s*\(?(?:of\s*|TBO\s*)?(?P<tbo>{NUMBER})\)?)?"):
        interval = number(match["tbo"]) if match["tbo"] else 0.0
        text.take(match, "engine_hours_left_h", number(match["n"]))
        if 1_000 <= interval <= 5_000:
            _add(text, "engine.tbo_h", interval, text.found[-1].words, text.found[-1].start)
            used = interval - number(match["n"])
            text.found.append(FoundWords("engine.hours_since_overhaul_h", used, text.found[-1].words, text.found[-1].start, "read as",
                                    "interval less hours left"))


def _untagged(text: AdvertisementText) -> None:
    """Read hours that only an object names: `1,450 hrs on engine`, `eng 640 hrs`, `engine 1180/2000`, `prop 300 hrs`."""
    count = rf"{ABOUT}(?P<n>{NUMBER})"
    hours = r"\s*(?:hrs?\.?|hours?|h)\b"
    not_unit = r"(?!\s*(?:hp|h\.p|bhp|shp|lbs?|gal|kts?|%|k\b|ps\b|x\b|blade|usd|years?))"
    engine, prop = r"(?:engine|eng|motor)s?\.?", r"prop(?:eller)?s?\.?"
    for match in text.matches(rf"\b{engine}(?:\s*(?:time|hours|hrs))?[\s:]*{ABOUT}(?P<n>{NUMBER})\s*/\s*(?P<tbo>{NUMBER})(?:{hours})?"):
        used, interval = number(match["n"]), number(match["tbo"])
        if 1_000 <= interval <= 5_000 and interval % 50 == 0 and not text.has("engine.hours_since_overhaul_h"):
            text.take(match, "engine.hours_since_overhaul_h", used, "unclear", "since what is not said")
            _add(text, "engine.tbo_h", interval, text.found[-1].words, text.found[-1].start)
    for match in text.matches(rf"(?<![\w.,])(?P<n>{NUMBER})\s*/\s*(?P<tbo>{NUMBER})\s*(?:{hours}\s*)?{engine}\b"):
        used, interval = number(match["n"]), number(match["tbo"])
        if 1_000 <= interval <= 5_000 and interval % 50 == 0 and not text.has("engine.hours_since_overhaul_h"):
            text.take(match, "engine.hours_since_overhaul_h", used, "unclear", "since what is not said")
            _add(text, "engine.tbo_h", interval, text.found[-1].words, text.found[-1].start)
    shapes = ((engine, "engine.hours_since_overhaul_h"), (prop, "propeller.hours_since_overhaul_h"),
              (r"(?:airframe|AF)", "state.airframe_hours_h"))
    for what, key in shapes:
        if text.has(key):
            continue
        first = rf"\b{what}(?:\s*(?:time|hours|hrs|has|is|at))?[\s:]*(?:,\s*(?=[\d,]+\s*h))?{count}(?:{hours}|{not_unit}(?![\w/.,]*\d))"
        last = rf"(?<![\w.,]){count}{hours}\s*(?:on|for)?\s*(?:the\s*|its\s*|each\s*|both\s*)?{what}\b"
        for match in [*text.matches(first)][:2] or [*text.matches(last)][:1]:
            _keep_untagged(text, match, key)
    _prose(text)
    if not text.has("state.airframe_hours_h"):
        found = text.first(rf"(?<![\w.,/$]){count}{hours}(?!\s*(?:since|on\b|ago|per|a\s|/|to\b|smoh))")
        if found is not None and number(found["n"]) > 100:
            text.take(found, "state.airframe_hours_h", number(found["n"]), "unclear", "hours of what is not said; read as "
                      "those of the airframe")


def _keep_untagged(text: AdvertisementText, match: re.Match[str], key: str) -> None:
    """Keep hours that only an object names; a second figure counts where it is that of the other engine."""
    value = number(match["n"])
    hours = "h" in match[0].lower().split(match["n"])[-1]
    if (1930 <= value <= 2035 and not hours) or (text.has(key) and not _side(text, match.start("n"))):
        return
    start, end, _, interval = _interval_after(text, match.start(), match.end(), (value,))
    kind = "prop" if key.startswith("prop") else "overhaul" if key.startswith("engine") else "airframe"
    end, when = _date_after(text, end, kind)
    note = "" if key.startswith("state") else "since what is not said"
    text.take_span(start, end, key, _both_sides(text, key, value, match.start("n")), "said" if not note else "unclear", note)
    words, place = text.found[-1].words, text.found[-1].start
    if interval and key.startswith("engine") and not text.has("engine.tbo_h"):
        _add(text, "engine.tbo_h", interval, words, place)
    if when is not None:
        _add_date(text, key, when, words, place)


_EVENT = re.compile(r"(?P<reman>re-?man|factory\s*(?:new|rebuilt)|exchange)|(?P<oh>overhaul|major|rebuil|o/h)|(?P<new>\bnew\b|zero[- ]time)")


def _prose(text: AdvertisementText) -> None:
    """Read hours counted from what the sentence told before: `overhauled in 2018 with 290 hours on each`."""
    key = "engine.hours_since_overhaul_h"
    for match in text.matches(rf"(?<![\w.,$]){ABOUT}(?P<n>{NUMBER})\s*(?:hrs?\.?|hours?)\s*(?:(?:on|since)\s*(?:each|both|then|that|it)\b|since\s*(?=[.,;!)\x01]|$))"):
        before = text.sentence_before(match.start())
        about = [(m.end(), name) for name, p in _OBJECT.items() for m in re.finditer(p, before)]
        if text.has(key) or not about or max(about)[1] != "engine":
            continue
        events = list(_EVENT.finditer(before))
        note = f"since what the sentence says before: {events[-1][0]}" if events else "since what is not said"
        text.take(match, key, number(match["n"]), "read as" if events else "unclear", note)
        kind = "" if not events else next(k for k in ("reman", "oh", "new") if events[-1][k])
        basis = {"reman": "factory remanufacture", "oh": "overhaul"}.get(kind)
        if any(e["reman"] for e in events):
            basis = "factory remanufacture"
        if basis:
            _add(text, "engine_hours_since", basis, text.found[-1].words, text.found[-1].start)


def _vague(text: AdvertisementText) -> None:
    """Read words that stand for engine hours: zero time, fresh overhaul, run-out; serial numbers are set aside."""
    for match in text.matches(r"\bS/N[\s:#]*[A-Z0-9-]*\d[A-Z0-9-]*|\bserial\s*(?:number|no\.?|#)?[\s:]*[A-Z0-9-]*\d[A-Z0-9-]*"
                              r"|(?<!\d)(?<!\d )(?<!hrs )(?<!hours )\bSN\s+\d[\w-]*"):
        text.take(match, "serial", re.sub(r"^(?:S/?N|serial\s*(?:number|no\.?|#)?)[\s:#]*", "", match[0], flags=re.IGNORECASE))
    for match in text.matches(r"\bN-?\d{1,5}[A-Z]{0,2}\b(?!\s*(?:hrs|hours))"):
        text.take(match, "registration", match[0].upper())


_ZERO = (r"\b(?:zero[- ]?timed?(?:\s*engine)?|0[- ]timed?(?:\s*engine)?|(?:fresh|brand[- ]?new|new|recent)(?:ly)?\s*(?:major\s*)?"
         r"(?:engine\s*)?(?:o/?h\b|overhaul(?:ed)?\b)(?:\s*engine)?|freshly\s*overhauled(?:\s*engine)?)")


def _words_for_hours(text: AdvertisementText) -> None:
    key = "engine.hours_since_overhaul_h"
    for match in text.matches(_ZERO):
        exact = match[0].lower().startswith(("zero", "0"))
        if text.has(key) or "prop" in text.after(match.end(), 12) + text.before(match.start(), 8):
            continue
        text.take(match, key, 0.0 if exact else (0.0, 15.0, 50.0), "said" if exact else "read as",
                  "" if exact else "a fresh overhaul: nought to 50 hours")
        _add(text, "engine_hours_since", "overhaul", text.found[-1].words, text.found[-1].start)
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
