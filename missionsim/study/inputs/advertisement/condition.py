"""What an advertisement says of upkeep and history: annual, damage, logs, storage, overhaul year, compressions."""

from __future__ import annotations

import re
from datetime import date

from missionsim.study.inputs.advertisement.text import MONTHS, NUMBER, AdvertisementText, FoundWords, full_year, number

_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?"
_WHEN = (rf"(?:(?P<iy>20\d\d)-(?P<im>\d\d)(?:-\d\d)?(?!\d)|(?P<m>\d{{1,2}})\s*/\s*(?:(?P<d>\d{{1,2}})\s*/\s*)?(?P<y>\d{{4}}|\d{{2}})|(?P<mon>{_MONTH})\s*(?:of\s*)?(?:\d{{1,2}}(?:st|nd|rd|th)?,?\s+(?=\d{{4}}))?"
         r"'?(?P<y2>\d{4}|\d{2})|(?P<mon3>" + _MONTH + r")(?!\s*\d)|(?P<y3>20\d\d))")
_YEAR = r"(?:19[5-9]\d|20[0-3]\d)"


_WHEN_PLAIN = re.sub(r"\?P<\w+>", "?:", _WHEN)


def read_condition(text: AdvertisementText, today: date) -> None:
    """Find what is said of upkeep and history."""
    _overhaul_year(text, today)
    _annual(text, today)
    _other_dates(text, today)
    _damage(text, today)
    _compressions(text)
    for pattern, key, value, note in _RULES:
        for match in text.matches(pattern):
            text.take(match, key, value, "read as" if note else "said", note)
    _scores(text)


def _when(match: re.Match[str], today: date, *, due: bool = False) -> tuple[int, int] | None:
    """Return year and month of a date as sellers write it; a month alone is the last of that name, or the next one."""
    if match["iy"]:
        year, month = int(match["iy"]), int(match["im"])
    elif match["m"]:
        month, year = int(match["m"]), full_year(int(match["y"]) % 100, today.year) if len(match["y"]) == 2 else int(match["y"])
        if month > 12 and match["d"] and int(match["d"]) <= 12:
            month = int(match["d"])
    elif match["mon"]:
        month = MONTHS[match["mon"][:3].lower()]
        year = full_year(int(match["y2"]), today.year) if len(match["y2"]) == 2 else int(match["y2"])
    elif match["mon3"]:
        month = MONTHS[match["mon3"][:3].lower()]
        year = (today.year + (month < today.month)) if due else (today.year - (month > today.month))
    else:
        month, year = 6, int(match["y3"])
    return (year, month) if 1 <= month <= 12 else None


def _annual(text: AdvertisementText, today: date) -> None:
    word = r"(?:ann?ual|ANNL?|ANL)(?:\s*(?:inspection|insp\.?))?"
    for match in text.matches(rf"\b(?:out\s*of\s*{word}|OOA|{word}\s*(?:expired|lapsed|overdue)|needs\s*(?:\w+\s*(?:and|&|\+)\s*)?(?:an?\s*|new\s*|fresh\s*)?{word}|{word}\s*(?:needed|required|is\s*due\s*now|due\s*now)|ferry\s*(?:permit\s*(?:only|required)?|only))(?:\s*since\s*\w+)?\b"):
        text.take(match, "out_of_annual", True, note="not airworthy as it stands")
    for match in text.matches(rf"\b(?:fresh|new|recent|just\s*had|just\s*completed\s*)\s*{word}\b(?!\s*(?:in\s*|done\s*)?{_WHEN_PLAIN})(?:\s*(?:w/|with|at|included\s*with)\s*(?:the\s*)?(?:sale|purchase))?|\b{word}\s*(?:included\s*)?(?:w/|with|at)\s*(?:the\s*)?(?:sale|purchase)\b"
                              rf"|\bsold\s*with\s*(?:a\s*)?(?:fresh\s*|new\s*)?{word}\b|\b{word}\s*just\s*(?:completed|done)\b"):
        text.take(match, "state.months_since_annual", (0.0, 0.5, 1.0), "read as", "fresh, or promised with the sale")
    done = r"(?:C/W|done|completed|complied(?:\s*with)?|signed(?:\s*off)?|performed|last|was|in|since|fresh)"
    due = r"(?:due|exp(?:ires?|\.)?|until|through|thru|good\s*(?:to|until|til|thru|through)?|next|valid(?:\s*(?:to|until))?|till?|to)"
    for match in text.matches(rf"\b(?:(?P<pre>last|next|fresh)\s*)?{word}(?:\s*(?:is|was))?[\s:]*(?P<kind>(?:{done}|{due})(?:\s*(?:in|by|until|end\s*of))?)?[\s:]*{_WHEN}(?P<post>\s*(?:completed|done|C/W|signed\s*off)\b)?"):
        kind = f"{match['pre'] or ''} {match['kind'] or ''} {match['post'] or ''}".lower()
        comes = bool(re.search(due, kind)) and not re.search(r"last|done|c/w|compl", kind)
        when = _when(match, today, due=comes)
        if when is None or text.has("state.months_since_annual"):
            continue
        _annual_when(text, match, when, today, comes, bool(re.search(done, kind, re.IGNORECASE)))
    for match in text.matches(rf"\b{_WHEN}\s*{word}\b"):
        when = _when(match, today)
        if when is not None and not text.has("state.months_since_annual"):
            _annual_when(text, match, when, today, False, False)
    for match in text.matches(rf"\b{word}\s*(?P<n>\d{{1,2}})\s*months?\s*ago\b"):
        text.take(match, "state.months_since_annual", float(match["n"]))
    for match in text.matches(rf"\b{word}\s*(?:is\s*)?(?:due|current|in\s*date|up\s*to\s*date)\b"):
        text.take(match, "annual_words", match[0].lower(), "unclear", "no date")


def _annual_when(text: AdvertisementText, match: re.Match[str], when: tuple[int, int], today: date, due: bool, done: bool) -> None:
    ago = 12 * (today.year - when[0]) + today.month - when[1]
    stamp = f"{when[0]}-{when[1]:02d}"
    if due or (not done and ago < 0):
        since = 12 + ago
        text.take(match, "annual_due", stamp)
        since_value: object = float(min(max(since, 0), 120))
        note = "due month less twelve" if since >= 0 else "due more than a year ahead: a promise"
        how = "read as"
    elif done or ago > 1:
        text.take(match, "annual_done", stamp)
        since_value, note, how = float(max(ago, 0)), "", "said"
        if match["y3"] if "y3" in match.groupdict() else False:
            note, how = "a year without a month", "read as"
    else:
        text.take(match, "annual_ambiguous", stamp, "unclear", "done then, or due then?")
        since_value, note, how = "unknown", "the date may be when it was done or when it is due", "unclear"
    text.found.append(FoundWords("state.months_since_annual", since_value, text.found[-1].words, text.found[-1].start, how, note))  # type: ignore[arg-type]


def _other_dates(text: AdvertisementText, today: date) -> None:
    kinds = ((r"(?:24\s*mo(?:nths?)?\s*)?(?:P/S|pitot[- /]static|pitot|static|IFR\s*cert(?:ification)?|XPDR|transponder)(?:\s*(?:check|cert\.?|checks))?", "pitot_static_due"),
             (r"(?:ARC|CofA|C\s*of\s*A|permit|certificate\s*of\s*airworthiness)", "airworthiness_due"),
             (r"(?:chute|parachute)(?:\s*repack)?", "parachute_due"))
    for what, key in kinds:
        for match in text.matches(rf"\b{what}[\s:]*(?:is\s*)?(?:due|to|until|till?|bis|exp(?:ires?)?\.?|valid\s*(?:to|until)?|good\s*(?:to|until)?|done|C/W|repack)?[\s:]*{_WHEN}"):
            when = _when(match, today)
            if when is not None:
                text.take(match, key, f"{when[0]}-{when[1]:02d}")


def _overhaul_year(text: AdvertisementText, today: date) -> None:
    oh = r"(?:overhaul(?:ed)?|O/?H(?:'?d)?|majored|major(?:\s*overhaul)?|remanufactured(?:\s*engine)?|rebuilt|SMOH|SFRM|SFOH|new\s*engine|reman)"
    for match in text.matches(rf"\b(?P<what>(?:prop(?:eller)?s?\s*)?{oh})\s*(?:was\s*)?(?:done\s*|completed\s*)?(?:in\s*|by\s*(?:[^,.;\n]{{0,30}}?)\s*(?:in\s*)?|\(|-\s*|:\s*)?(?:{_MONTH}\s*|\d{{1,2}}/)?(?P<y>{_YEAR})(?!\s*-?\s*(?:hrs?|hours?|TBO)\b)\)?"
                              rf"|\b(?P<y2>{_YEAR})\s*(?P<what2>(?:prop(?:eller)?\s*|engine\s*|major\s*|factory\s*)?overhaul|(?:factory\s*)?reman)\b"):
        year = int(match["y"] or match["y2"])
        what = (match["what"] or match["what2"]).lower() + text.before(match.start(), 14)
        if year > today.year:
            continue
        prop = "prop" in what
        key = "propeller.overhaul_year" if prop else "engine.overhaul_year"
        if re.match(r"(?:tot?p)", what) or text.has(key) or re.search(r"top\s*$", text.before(match.start(), 6)):
            continue
        if _after_hours(text, match):
            continue  # the date belongs to hours, which are read later, with their object
        text.take_span(match.start(), match.end(), key, float(year))
    for match in text.matches(r"\b(?:SOH|overhaul(?:ed)?|O/H|SMOH)\s*(?P<n>\d{1,2})\s*y(?:ea)?rs?\.?\s*ago\b"):
        text.take(match, "engine.overhaul_year", float(today.year - int(match["n"])), "read as", "so many years ago")


def _after_hours(text: AdvertisementText, match: re.Match[str]) -> bool:
    """Return whether a date stands behind hours since an overhaul rather than behind the overhaul itself."""
    if match["y2"]:
        return re.search(r"\bsince\W*(?:an?\W*|the\W*|last\W*)?$", text.before(match.start())) is not None
    return bool(re.search(r"SMOH|SFRM|SFOH|SPOH", match[0], re.IGNORECASE)
                or re.search(r"\bsince\W*(?:an?\W*)?(?:last\W*)?(?:major\W*|field\W*|factory\W*|prop(?:eller)?\W*)?$", text.before(match.start())))


def read_overhaul_kind(text: AdvertisementText) -> None:
    """Find who overhauled the engine, in words that tell no hours."""
    for match in text.matches(r"(?<!since )(?<!since a )\b(?:field|shop|factory)\s*(?:overhaul(?:ed)?|o/?h)\b|(?<!since )\bfactory\s*(?:reman(?:ufactured)?|rebuilt|new)(?:\s*engine)?\b|\boverhauled\s*by\s*(?:a\s*)?(?:well[- ]known\s*|reputed\s*|local\s*)?(?:engine\s*)?(?:shop|mechanic)\b"):
        word = match[0].lower()
        kind = "factory" if "factory" in word else "shop" if "shop" in word else "field"
        text.take(match, "engine.overhaul_kind", kind)


def _damage(text: AdvertisementText, today: date) -> None:
    none = (r"\bNDH\b|\bno\s*(?:history\s*of\s*(?:any\s*)?|prior\s*|previous\s*)(?:damage|accidents?)\b|\bdamage(?:\s*history)?\s*[:=-]+\s*(?:none|nil|no)\b|\b(?:no|zero|never\s*(?:had\s*)?(?:any\s*)?)\s*(?:damaged?|accidents?)(?:\s*(?:history|ever))?\b|\bdamage[- ]free\b|\bno\s*DH\b")
    unclear = r"\b(?:NKDH|NMDH)\b|\bno\s*(?:known|major|significant|recent|reported)\s*(?:damage(?:\s*history)?|DH|accidents?)\b"
    for match in text.matches(unclear):
        text.take(match, "damage_words", match[0].lower(), "unclear", "no known damage is not no damage")
    for match in text.matches(none):
        text.take(match, "state.damage_history", "none", note="claimed")
    event = (r"\b(?:damage\s*history|damaged?|DH|MDH|gear[- ]up(?:\s*landing)?|belly\s*landing|prop(?:eller)?\s*strike|sudden\s*stoppage|PSI|hail(?:\s*damage)?|"
             r"hangar\s*rash|ground\s*loop|nose[- ]?over|accident|incident|hard\s*landing|rebuilt\s*wing)\b")
    for match in text.matches(rf"{event}(?P<more>[^.;\n]{{0,60}})"):
        _damage_event(text, match, today)


def _damage_event(text: AdvertisementText, match: re.Match[str], today: date) -> None:
    if _TAKEN_IN(match[0]):
        return
    around = text.before(match.start(), 20) + match[0]
    if re.search(r"inspect(?:ed|ion)\s*(?:free|available)", around, re.IGNORECASE):
        return
    years = [int(y) for y in re.findall(_YEAR, around)]
    minor = re.search(r"minor|hangar\s*rash|light", around, re.IGNORECASE)
    value: object = "unknown"
    note = "when and how bad is not said"
    if years:
        old = today.year - max(years) > 10
        value = "old_minor" if old or minor else "recent_major"
        note = f"{max(years)}: {'more than ten years ago' if old else 'within ten years'}; how bad is for the logs to say"
    elif minor:
        value, note = "old_minor", "called minor by the seller"
    cut = re.search(r",(?!\s*(?:repaired|fixed|\d{4}|minor|properly|logged))", match[0])
    end = match.start() + (cut.start() if cut else len(match[0]))
    text.take_span(match.start(), end, "damage_event", True, "said", note)
    text.found.append(FoundWords("state.damage_history", value, text.found[-1].words, text.found[-1].start, "read as", note))


def _TAKEN_IN(words: str) -> bool:  # noqa: N802
    return "\x01" in words.split(",", maxsplit=1)[0]


def _compressions(text: AdvertisementText) -> None:
    listed = r"(?:[4-7]\d\s*(?:/\s*80)?[\s,/&-]+){2,7}[4-7]\d(?:\s*/\s*80)?"
    for match in text.matches(rf"\b(?:comp(?:ression)?s?\.?)\s*(?:are\s*|were\s*|all\s*)?[\s:]*(?P<v>{listed}|[4-7]\d\s*/\s*80)(?:\s*over\s*80)?"):
        values = [int(v) for v in re.findall(r"\d\d", match["v"]) if v != "80"]
        text.take(match, "engine.compression_psi_of_80", float(min(values)), note="the lowest of those given")
    for match in text.matches(r"\b(?:all\s*)?(?:comp(?:ression)?s?\.?)\s*(?:are\s*|all\s*)?(?:in\s*(?:the\s*)?)?(?P<lv>low|mid|high|upper)?[\s-]*70'?s\b"):
        low, high = {"low": (70, 73), "mid": (73, 76), "high": (76, 79), "upper": (76, 79)}.get((match["lv"] or "").lower(), (70, 79))
        text.take(match, "engine.compression_psi_of_80", (float(low), (low + high) / 2, float(high)), "read as")
    for match in text.matches(r"\bcompressions?\s*(?:all\s*)?(?:good|great|excellent|strong)\b|\b(?:good|great|strong)\s*compressions?\b"):
        text.take(match, "compression_words", match[0].lower(), "unclear", "no figure")


_RULES: tuple[tuple[str, str, object, str], ...] = (
    (r"\b(?:missing|partial|incomplete|lost|no)\s*(?:early\s*|first\s*|original\s*|some\s*|the\s*)*(?:engine\s*)?log(?:s|books?)?\b(?:\s*(?:before|prior\s*to|until|from)\s*\d{4})?|\blog(?:s|books?)?\s*(?:are\s*)?(?:incomplete|missing|lost|partial)\b"
     r"(?:\s*(?:before|prior\s*to)\s*\d{4})?", "state.logs_complete", False, ""),
    (r"\b(?:all|complete|full|original)\s*(?:and\s*complete\s*)?(?:original\s*|airframe\s*)?(?:and\s*engine\s*)?log(?:s|books?)?(?:\s*(?:since\s*new|from\s*new|available|present))?\b|\blog(?:s|books?)?\s*(?:are\s*)?complete(?:\s*since\s*new)?\b|\blogs\s*(?:since|from)\s*new\b"
     r"|\blogs\s*SNE(?:W)?\b|\bC/L\b", "state.logs_complete", True, ""),
    (r"\b(?:logs?(?:books?)?\s*(?:are\s*)?(?:digiti[sz]ed|scanned|online)|digiti[sz]ed\s*logs?|scanned\s*logs?)\b", "logs_scanned", True, ""),
    (r"\blog(?:s|books?)\b", "logs_words", "logs", "whether all of them are there is not said"),
    (r"\bhangar(?:ed)?\s*(?:space|spot|available|rent|for\s*rent|lease|transferable|home|neighbor\w*)\b", "hangar_words", True, ""),
    (r"\b(?:not\s*hangared|un-?hangared|tied[- ]?(?:down|out)(?:\s*outside)?|tie-?down|T/D|kept\s*outside|lives\s*outside|stored\s*outside|on\s*the\s*ramp)\b", "state.hangared", False, ""),
    (r"\b(?:always\s*|currently\s*)?(?:hangar(?:ed|ed)?|hang(?:a|e)red|HGRD|HNGRD|HGR|ALH)\b|\b(?:kept|stored|lives)\s*in\s*(?:a\s*)?(?:heated\s*)?hangar\b", "state.hangared", True, ""),
    (r"\b(?:coastal|island|salt\s*air|seaside|beach)\b", "state.coastal", True, ""),
    (r"\b(?:dry\s*climate|desert(?:\s*aircraft|\s*plane)?|inland|high\s*and\s*dry|high\s*desert|arid)\b", "state.coastal", False, ""),
    (r"\b(?:no|zero)\s*(?:visible\s*)?corr(?:osion)?\b|\bcorr(?:osion)?[- ]free\b|\bNO\s*CORR\b", "corrosion", "none claimed", ""),
    (r"\bcorrosion\s*(?:was\s*|were\s*)?(?:found|repaired|treated|removed|present|noted)\b", "corrosion", "told by the seller", ""),
    (r"\bcorrosion[- ]proof(?:ed|ing)?\b|\bzinc\s*chr(?:omated?)?\.?\b|\bZNC\b|\banti-?corr(?:osion)?\.?\s*spray\b", "corrosion_proofed", True, ""),
    (r"\b(?:oil\s*anal(?:ysis|\.)?|spectro)(?:\s*(?:every\s*change|since\s*\d{4}|good))?\b", "oil_analysis", True, ""),
    (r"\bAD'?s?\s*(?:are\s*|all\s*)*(?:C/W|complied(?:\s*with)?|comp\.?|current|up\s*to\s*date)\b|\b(?:all\s*)?SB'?s?\s*(?:C/W|complied)\b|\b(?:M?SBs?)\s*C/W\b", "directives_words", "complied with, as claimed", ""),
    (r"\b(?:new|resealed|fresh)\s*(?:fuel\s*)?(?:bladders?|tank\s*seal(?:ant|s)?|tanks?\s*resealed)\b|\btanks?\s*(?:were\s*)?re-?sealed\b(?:\s*(?:in\s*)?\d{4})?", "state.tank_sealant_good", True, ""),
    (r"\b(?:tanks?\s*(?:seep|leak|weep)\w*|fuel\s*(?:seep|leak|stain)\w*)\b", "state.tank_sealant_good", False, ""),
    (r"\b(?:gear\s*(?:actuators?|motor|pump)?\s*(?:overhauled|serviced|rebuilt|rigged))\b", "state.gear_serviced", True, ""),
    (r"\b337s?\b(?:\s*(?:in\s*logs|on\s*file))?|\b(?<!increase )(?<!upgrade )STC'?(?:d|s)?\b", "paperwork", True, ""),
    (r"\b(?:paint|interior|int\.?|ext\.?)(?:\s*(?:and|&|/)\s*(?:paint|interior|int\.?))?\s*(?:is\s*|done\s*|new\s*|redone\s*)*(?:in\s*)?(?:19|20)\d\d\b", "paint_or_interior", True, ""),
    (r"\b(?:new|recent|fresh|newer|original|nice|good|fair|older)\s*(?:paint|interior|upholstery|leather|glass\s*windows)(?:\s*(?:and|&|/)\s*(?:paint|interior|leather))?\b", "paint_or_interior", True, ""),
    (r"\b(?:based|located)\s*(?:in|at)?\s*[a-z' ]{2,24}", "location", True, ""),
    (r"\benr(?:\.|olled)?\s*on\s*(?:a\s*)?prog(?:ram(?:me)?|\.)?|\bpower\s*by\s*(?:the\s*)?hour\b", "engine_programme", True, ""),
)


def _scores(text: AdvertisementText) -> None:
    for match in text.matches(r"\b(?:P\s*&\s*I|P/I|paint\s*(?:and|&|/)\s*int(?:erior)?|ext\s*/\s*int)[\s:]*(?P<a>\d{1,2})(?:\s*/\s*(?P<b>\d{1,2}))?|\bpaint\s*(?P<c>\d{1,2})\s*(?:/|of)?\s*(?:10)?\W+int(?:erior)?\s*(?P<d>\d{1,2})"
                              r"(?:\s*/\s*10)?"):
        a, b = match["a"] or match["c"], match["b"] or match["d"] or match["a"]
        text.take(match, "paint_interior_of_10", (float(a), float(b)))
    for match in text.matches(rf"(?:\b(?:flown|flies|flying)\s*)?(?:about\s*|around\s*)?(?<![\w.,])(?:(?P<lo>\d{{2,3}})\s*(?:-|to)\s*)?(?P<n>{NUMBER})\s*(?:hrs?|hours?)\s*"
                              r"(?:a|per|/|each)\s*y(?:ea)?r\b"):
        low, high = float(match["lo"] or 0), number(match["n"])
        text.take(match, "state.hours_flown_per_year_h", (low, (low + high) / 2, high) if 0 < low < high else high)
