"""What an advertisement says of panel, ice protection, oxygen, engine instruments and other equipment."""

from __future__ import annotations

import re

from missionsim.study.inputs.advertisement.text import AdvertisementText, FoundWords

_NOT = re.compile(r"\b(?:no|not|non|without|w/o|never|needs|lacks|less)[\s-]*(?:\w+\s)?$")

_ANSWERED_NO = re.compile(r"\s*[:=-]\s*(?:no|none|not|n/a)\b|\s*(?:is\s*|are\s*|was\s*|were\s*|has\s*been\s*|have\s*been\s*)?(?:removed|deleted|not\s*(?:installed|"
                          r"fitted|included|equipped))\b")

_RULES: tuple[tuple[str, str, object, str], ...] = (
    # approach; the best one speaks
    (r"\bnon-?\s?WAAS(?:\s*(?:IFR\s*)?GPS)?\b", "panel.approach", "lnav", "an approach navigator without WAAS"),
    (r"\bWAAS[- ](?:ready|capable|upgradeable|upgradable)\b", "waas_ready", True, ""),
    (r"\b(?:WAAS|SBAS|LPV)(?:\s*(?:/|and|&|\+)\s*(?:WAAS|SBAS|LPV))*(?:\s*(?:IFR\s*)?(?:GPS|navigators?|approach(?:es)?|capable|approved))*\b",
     "panel.approach", "lpv", ""),
    (r"\b(?:VFR|handheld|portable)\s*GPS\b|\bLORAN\b", "old_navigation", True, "no approach use"),
    (r"\b(?:IFR|approach|panel)[- ](?:approved\s*|certified\s*)?GPS(?:\s*(?:navigator|approach(?:es)?))?\b", "panel.approach", "lnav", ""),
    (r"\bGPS\b", "gps_unclear", True, "whether it is approved for approaches is not said"),
    (r"\bILS\b|\bglide-?\s?slope\b|\bLOC(?:/GS)?\b|\bGS\b|\bG/S\b", "panel.ils_receiver", True, ""),
    (r"\b(?:dual\s*|2x?\s*)?(?:nav[/-]?\s?coms?|navcoms?)(?:\s*x?\s*2)?\b|\bVORs?\b", "vor", True, ""),
    (r"\b(?:day\s*|night\s*)?VFR(?:\s*(?:only|equipped|panel|day))?\b|\bDVFR\b|\bNVFR\b", "ifr", False, ""),
    (r"\b(?:full\s*)?IFR(?:\s*(?:certified|cert\.?|equipped|panel|current|capable|ready))?\b|\bfull\s*panel\b", "ifr", True, ""),
    (r"\bHSI\b|\bEHSI\b|\bslaved\s*(?:compass|HSI)\b", "hsi_panel", True, ""),
    (r"\bDME\b|\bADF\b", "old_navigation", True, ""),
    # displays
    (r"\bglass(?:[\s-]*(?:panel|cockpit|retrofit(?:\s*\d{4})?))?\b|\b(?:PFDs?|MFDs?)(?:\s*/\s*(?:PFD|MFD))?\b|\bEFIS\b|\bdual\s*screens?\b"
     r"|\b(?:dual\s*|twin\s*)?electronic\s*(?:attitude|flight\s*(?:instruments?|displays?))\b(?:\s*pair)?|\belectronic\s*horizons?\b",
     "panel.electronic_attitude", True, ""),
    (r"\bsteam(?:\s*gauges?)?\b|\bsix[- ]pack\b|\b6-?pack\b|\bround\s*(?:dials?|gauges?|instruments)\b|\bstd\.?\s*T\b|\banalog(?:ue)?\s*panel\b",
     "panel.electronic_attitude", False, ""),
    # surveillance
    (r"\bno\s*ADS-?\s?B\b|\bADS-?\s?B\s*in\s*only\b|\bneeds\s*ADS-?\s?B\b", "panel.ads_b", False, ""),
    (r"\bADS-?\s?B(?:\s*(?:in\s*(?:and|&|/)\s*out|in/out|out(?:/in|\s*(?:and|&)\s*in)?|out|compliant|I/O))?(?:\s*(?:UAT|ES))?\b|\b1090\s?ES\b|\bUAT\b",
     "panel.ads_b", True, ""),
    (r"\bmode[- ][CS]\b(?:\s*(?:transponder|xpdr|xponder))?|\bXPDR\b|\btransponder\b", "transponder", True, ""),
    (r"\bTCAS\b|\btraffic(?:\s*(?:system|alert))?\b|\bTAS\b(?!\s*\d)", "traffic", True, ""),
    (r"\b(?:radar|RDR|WX\s*radar|weather\s*radar)\s*(?:is\s*)?(?:inop(?:erative)?|removed|u/s)\b", "weather_radar", False, ""),
    (r"\b(?:color\s*|colour\s*|on-?board\s*|WX\s*|weather\s*)?radar\b(?!\s*alt)|\bCRDR\b|\bRDR\b", "panel.weather_on_board", True, ""),
    (r"\b(?:spherics|sferics|lightning\s*(?:detect(?:or|ion)|det\.?)|data-?\s?link\s*(?:weather|WX)|WX\s*link|FIS-?B|weather\s*(?:uplink|datalink|in\s*the\s*cockpit))\b",
     "panel.weather_on_board", True, ""),
    # ice
    (r"\b(?:FIKI|known[- ]ic(?:e|ing))\s*(?:approv\w+\s*|certif\w+\s*|cert\.?\s*)?(?:is\s*|was\s*)?(?:not|no|never)\b(?:\s*(?:included|approved|certified|valid|legal))?"
     r"|\bnot\s*(?:approved\s*|certified\s*|legal\s*)?(?:for\s*|into\s*)?(?:flight\s*(?:in|into)\s*)?(?:FIKI|known[- ]ic(?:e|ing))\b|\bnon-?\s?FIKI\b|\bnon-?\s?known[- ]ice\b|\b(?:inadvertent|not\s*certified)\s*(?:icing|de-?ice)?\b",
     "known_ice", False, ""),
    (r"\bno\s*(?:de-?ice|ice\s*protection|boots|icing\s*equipment)\b", "panel.ice_protection", "none", ""),
    (r"\bF\.?I\.?K\.?I\b|\bknown[- ]ic(?:e|ing)(?:\s*(?:approved|certified|cert\.?|package))?\b|\bK-?ICE\b|\bKI\b", "panel.ice_protection", "approved", ""),
    (r"\b(?:de-?ic(?:e|ing)\s*)?boots\b|\bweeping\s*wings?\b|\bfluid\s*de-?ice\b|\bde-?ic(?:e|ing)\b(?:\s*(?:equipped|system))?|\bhot\s*props?\b|\b(?:prop|propeller)\s*de-?ice\b"
     r"|\b(?:heated|alcohol)\s*props?\b|\bice\s*protection\b|\banti-?ice\b", "panel.ice_protection", "escape", "fitted; approval for known icing is not said"),
    # oxygen and cabin
    (r"\bportable\s*(?:O2|oxygen)\b", "panel.oxygen", "portable", ""),
    (r"\b(?:built-?\s?in|fixed|factory|on-?board|installed|\d[- ]?(?:place|pl\.?|man|port))\s*(?:O2|oxy(?:gen)?)\b(?:\s*system)?", "panel.oxygen", "fixed", ""),
    (r"\bO2\b|\boxy(?:gen)?\b(?:\s*system)?", "panel.oxygen", "fixed", "oxygen, whether built in or portable is not said"),
    (r"\bA/C(?!\s*(?:has|is|was|in|located|based|hangared))\b|\bair[- ]con(?:d(?:itioning|itioned)?)?\b", "air_conditioning", True, ""),
    (r"\b(?:all\s*)?shoulder\s*(?:harness(?:es)?|belts?)\b(?:\s*(?:all\s*seats|front\s*only))?|\bair-?bags?(?:\s*belts)?\b", "panel.shoulder_belts", True, ""),
    # engine instruments and modifications
    (r"\b(?:(?:graphic(?:al)?|digital|all[- ]cylinder|4-?cyl|6-?cyl)\s*)?engine\s*(?:monitor(?:ing)?|analy[sz]er)s?\b|\bEMS\b|\bgraphic\s*EM\b"
     r"|\b(?:CHT/EGT|EGT/CHT)\s*(?:all\s*cyl(?:inders|\.)?)?|\ball[- ]cylinder\s*(?:EGT|CHT)\b|\btrend\s*mon(?:itor(?:ing)?|\.)?|\bECTM\b", "engine.monitor", True, ""),
    (r"\bfuel\s*(?:flow|totali[sz]er|computer)(?:\s*(?:meter|gauge|computer|totali[sz]er))?\b|\btotali[sz]er\b|\bFF\b", "fuel_flow_instrument", True, ""),
    (r"\b(?:bal(?:anced|\.)?|matched|tuned)\s*inj(?:ectors?|\.)?\b", "engine.matched_injectors", True, ""),
    (r"\bLOP\b|\blean[- ]of[- ]peak\b", "engine.lean_of_peak", True, ""),
    (r"\b(?:C/S|CSP|constant[- ]speed|variable[- ]pitch|VP)(?:\s*prop(?:eller)?)?\b", "propeller.constant_speed", True, ""),
    (r"\bfixed[- ]pitch(?:\s*prop(?:eller)?)?\b|\bF/P\s*prop(?:eller)?\b", "propeller.constant_speed", False, ""),
    (r"\b(?:3|three)[- ]?blade(?:d|s)?(?:\s*prop(?:eller)?s?)?\b", "propeller.blades", 3, ""),
    (r"\b(?:2|two)[- ]?blade(?:d|s)?(?:\s*prop(?:eller)?s?)?\b", "propeller.blades", 2, ""),
    (r"\b(?:4|four)[- ]?blade(?:d|s)?(?:\s*prop(?:eller)?s?)?\b", "propeller.blades", 4, ""),
    (r"\bRVSM\b", "rvsm", True, ""),
    (r"\bSTOL(?:\s*kit)?\b|\bVGs?(?:\s*kit)?\b|\bvortex\s*generators?\b|\b(?:LE|leading[- ]edge)\s*cuffs?\b|\b(?:large|big|tundra|oversized?)\s*tires\b"
     r"|\bgap\s*seals?\b|\bspeed\s*(?:mods|kit|fairings)\b|\bwheel\s*(?:pants|fairings)\b|\btip\s*mods\b|\bINTCLR\b|\bintercooler\b", "modification", "", ""),
    (r"\b(?:chute|parachute)\b(?:\s*(?:repack|due|good\s*(?:to|until)))*(?:\s*(?:\d{1,2}/)?\d{2,4})?", "parachute", True, ""),
)

_AXES: tuple[tuple[str, str], ...] = (
    (r"\bno\s*(?:autopilot|auto-pilot|A/?P)\b(?![&])|\b(?:autopilot|A/P)\s*(?:[:=-]\s*(?:none|no|n/a)|(?:was\s*|has\s*been\s*|is\s*)?(?:removed|deleted|not\s*(?:installed|fitted|included)))\b", "none"),
    (r"\bwing\s*level(?:l)?er\b|\b(?:1|one|single)[- ]axis(?:\s*(?:autopilot|A/?P))?\b", "single_axis"),
    (r"\b(?:3|three)[- ]?axis(?:\s*(?:coupled|digital))?(?:\s*(?:autopilot|A/?P))?\b|\byaw\s*damper\b|\bYD\b", "three_axis"),
    (r"\b(?:2|two|dual)[- ]?axis(?:\s*(?:digital|coupled))?(?:\s*(?:autopilot|A/?P))?\b(?:\s*(?:w/|with)\s*(?:alt(?:itude)?\.?\s*(?:hold|pre(?:select)?)))?"
     r"|\balt(?:itude)?\.?\s*(?:hold|pre(?:select|\.)?)\b|\b(?:GPSS|roll\s*steering)\b|\bflight\s*director\b|\bF/D\b|\bcoupled\s*(?:autopilot|A/?P)\b", "two_axis"),
)
_BARE_AP = r"(?<![&/\w])(?:auto-?\s?pilot|A/P|AP|S-AP)(?![&\w]|/IA)(?:\s*(?:inop(?:erative)?|works|working|not\s*working|needs\s*work|u/s))?"


def read_equipment(text: AdvertisementText) -> None:
    """Find equipment; a `no` before a word turns it round, and the better of two approaches speaks."""
    _autopilot(text)
    for pattern, key, value, note in _RULES:
        for match in text.matches(pattern):
            _keep(text, match, key, value, note)
    _settle(text)


def _keep(text: AdvertisementText, match: re.Match[str], key: str, value: object, note: str) -> None:
    if key == "modification":
        text.take(match, key, " ".join(match[0].split()).lower())
        return
    if key == "hsi_panel" and text.get("turbine"):
        text.take(match, "hsi_panel", True, "unclear", "an instrument or a hot-section inspection")
        return
    negative = (_NOT.search(text.before(match.start(), 14)) or _ANSWERED_NO.match(text.after(match.end(), 24))) is not None
    if negative and isinstance(value, bool):
        value, note = not value, ""
    elif negative and key == "panel.approach":
        text.take(match, "approach_words", f"no {match[0]}".lower())  # what else it can fly is not said by that
        return
    elif negative:
        value, note = "none", ""
    text.take(match, key, value, "read as" if note else "said", note)


def _autopilot(text: AdvertisementText) -> None:
    found = False
    for pattern, kind in _AXES:
        for match in text.matches(pattern):
            three = kind == "three_axis"
            text.take(match, "panel.autopilot", "two_axis" if three else kind, note="with a yaw channel" if three else "")
            if three:
                words, place = text.found[-1].words, text.found[-1].start
                text.found.append(FoundWords("yaw_damper", True, words, place))
            found = True
    for match in text.matches(_BARE_AP):
        dead = re.search(r"inop|not\s*work|needs|u/s", match[0] + text.after(match.end(), 14), re.IGNORECASE)
        said = dead or re.search(r"work", match[0], re.IGNORECASE)
        if found or text.has("panel.autopilot"):
            text.take(match, "autopilot_words", True)
        else:
            text.take(match, "panel.autopilot", "single_axis", "unclear", "how many axes is not said; the lesser is taken")
        if said:
            words, place = text.found[-1].words, text.found[-1].start
            text.found.append(FoundWords("panel.autopilot_works", not dead, words, place))


_APPROACHES = ("none", "vor", "lnav", "ils", "lpv")
_ICE = ("none", "escape", "approved")


def _settle(text: AdvertisementText) -> None:
    """Keep one value where several words speak of the same thing, and say what follows from others."""
    _one(text, "panel.approach", _APPROACHES)
    _one(text, "panel.ice_protection", _ICE)
    _one(text, "panel.autopilot", ("none", "single_axis", "two_axis"))
    if text.get("known_ice") is False and text.get("panel.ice_protection") == "approved":
        text.found[:] = [f for f in text.found if f.key != "panel.ice_protection"]
    if not text.has("panel.approach"):
        for key, value in (("panel.ils_receiver", "ils"), ("vor", "vor")):
            source = next((f for f in text.found if f.key == key and f.value is True), None)
            if source is not None:
                text.found.append(FoundWords("panel.approach", value, source.words, source.start, "read as"))
                return
        ifr = next((f for f in text.found if f.key == "ifr"), None)
        if ifr is not None and ifr.value is False:
            text.found.append(FoundWords("panel.approach", "none", ifr.words, ifr.start, "read as"))


def _one(text: AdvertisementText, key: str, order: tuple[str, ...]) -> None:
    several = [f for f in text.found if f.key == key]
    if len(several) > 1:
        best = max(several, key=lambda f: order.index(str(f.value)))
        for other in several:
            if other is not best:
                place = text.found.index(other)
                text.found[place] = FoundWords("also_equipment", other.value, other.words, other.start, other.how)
