"""What an advertisement leaves unsaid, as questions to the seller, those about most money first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from missionsim.study.inputs.advertisement.read import Advertisement


@dataclass(frozen=True, slots=True)
class SellerQuestion:
    """One question to the seller.

    Parameters
    ----------
    key : str    Key of the aircraft profile the answer belongs to.
    text : str   Ready to send.
    why : str    What hangs on the answer, or what the advertisement says that can mean two things.
    """

    key: str
    text: str
    why: str


_ASKED: tuple[tuple[str, str, str], ...] = (
    ("prices.asking_price_usd", "What do you ask for the aircraft, in US dollars?", "no price is given"),
    ("identity.year", "In which year was it built?", "value, and the age of everything on it"),
    ("engine.rated_hp", "What is the rated power of the engine, in horsepower?", "speed, fuel and the price of an overhaul"),
    ("engine.hours_since_overhaul_h", "How many hours has the engine run since its last major overhaul (or since new)?",
     "the largest single bill of an owner"),
    ("engine.overhaul_year", "In which year was the engine overhauled?", "engines age by the calendar too"),
    ("engine.overhaul_kind", "Who overhauled the engine: a mechanic in the field, an engine shop, or the factory?",
     "how far the first hundreds of hours can be trusted"),
    ("state.coastal", "Where has it lived, and has corrosion ever been found?", "corrosion can cost more than an engine"),
    ("state.hangared", "Has it been kept in a hangar or outside?", "corrosion, paint, avionics"),
    ("state.logs_complete", "Are the airframe, engine and propeller logs complete since new?", "a tenth to a third of the value"),
    ("state.months_since_annual", "When was the last annual inspection signed off, and by whom?", "the first annual of a new owner is the dear one"),
    ("state.damage_history", "Has the aircraft ever been damaged? When, what, and who repaired it?", "value, and what to inspect"),
    ("state.airframe_hours_h", "How many hours has the airframe in total?", "value and wear"),
    ("weights.useful_load_lb", "Could you send the latest weight and balance sheet (empty weight, arm, useful load)?",
     "whether it carries your people, bags and fuel; brochure figures are some 45 lb too good"),
    ("tanks.usable_gal", "How much usable fuel do the tanks hold, in gallons?", "range, and what is left for people"),
    ("propeller.hours_since_overhaul_h", "How many hours has the propeller since overhaul or new, and in which year was that?",
     "silence means old"),
    ("state.tank_sealant_good", "Do the tanks (sealant or bladders) leak or stain anywhere? When were they last renewed?",
     "a reseal takes weeks"),
    ("state.gear_serviced", "When was the landing gear system last overhauled or rigged?", "retractable gear only"),
    ("engine.compression_psi_of_80", "What were the compressions at the last inspection, cylinder by cylinder?", "cylinders to come"),
    ("state.hours_flown_per_year_h", "How many hours has it flown in each of the last three years?", "engines suffer from standing"),
    ("panel.approach", "Which approaches can its navigators fly: none, VOR, GPS without vertical guidance, ILS, LPV?",
     "in which weather you get home"),
    ("panel.autopilot", "Which autopilot has it (axes, altitude hold), and does all of it work?", "your day, and a repair of thousands"),
    ("panel.ads_b", "Has it ADS-B out?", "legal access near large airports"),
    ("state.open_directives_usd", "Are any airworthiness directives or service items open or recurring?", "money at once"),
)
"""Key, question and reason in order of money at stake (trade notes: fields to ask for)."""


def questions_for(ad: Advertisement, class_id: str) -> tuple[SellerQuestion, ...]:
    """Return the questions that remain, unclear words first within their own subject."""
    asked = []
    for key, text, why in _ASKED:
        if _applies(key, ad):
            found = ad.source(key)
            unclear = found is not None and (found.how == "unclear" or found.value == "unknown")
            if found is None or unclear or isinstance(found.value, tuple):
                said = "" if found is None else f'you write "{found.words}": {found.note or "which is a range"}'
                asked.append(SellerQuestion(key, f"{text} ({said[0].upper()}{said[1:]}.)" if said else text, said or why))
    if not class_id:
        asked.insert(0, SellerQuestion("class", "How many seats and engines has it, and is the gear fixed or retractable?",
                                 "the words do not say what kind of aircraft it is"))
    return tuple(asked)


def _applies(key: str, ad: Advertisement) -> bool:
    """Return whether a question makes sense for this aircraft and is not answered by another figure."""
    not_here: dict[str, Callable[[], bool]] = {
        "state.gear_serviced": lambda: ad.get("identity.gear") != "retractable",
        "engine.overhaul_kind": lambda: ad.get("engine_hours_since") == "new",
        "engine.overhaul_year": lambda: ad.get("engine_hours_since") == "new",
        "weights.useful_load_lb": lambda: ad.get("weights.empty_weight_lb") is not None and ad.get("weights.max_takeoff_lb") is not None,
        "engine.compression_psi_of_80": lambda: bool(ad.get("turbine")),
        "prices.asking_price_usd": lambda: isinstance(ad.get("asking_price_range"), tuple),
    }
    if key == "engine.hours_since_overhaul_h" and isinstance(ad.get(key), tuple) and len(ad.get(key)) == 2:
        return False  # both engines are told
    return not not_here.get(key, lambda: False)()


def letter(questions: tuple[SellerQuestion, ...]) -> str:
    """Return the questions as a message to the seller."""
    lines = [f"{i}. {q.text}" for i, q in enumerate(questions, 1)]
    return "\n".join(["Hello, your aircraft interests me. Could you tell me:", "", *lines, "", "Thank you."])
