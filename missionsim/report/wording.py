"""How numbers, measures and reasons are put into words: the same in terminal, report and files."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from missionsim.base.words import Outcome

CAUTIONS = (
    "Planning estimates only. The flight manual, a current weather briefing, the regulations and the pilot in command "
    "decide every flight.",
    "Before buying, have a mechanic of your own choice inspect the aircraft and its records. Reaching the time between "
    "overhauls is not a promise.",
    "Carrying persons or property for hire needs an operating certificate (14 CFR 119 and 135); what a private pilot "
    "may share with passengers is limited by 14 CFR 61.113. Ask the authority, an insurer and a lawyer.",
)

VISUAL_CAUTION = (
    "Flying on into weather below the minima of visual flight is among the most frequent ways to be killed in a light "
    "aircraft. Here a visual pilot turns back or lands short at the own minimum; flights that met less than the legal "
    "minima count as broken off, never as made. Turn back while the way behind is open, and do not take these shares "
    "for a promise that it will be.")


def cautions_for(*ratings: str) -> tuple[str, ...]:
    """Return the cautions of a page about pilots with these ratings; visual flight has one of its own."""
    return with_visual(CAUTIONS, *ratings)


def with_visual(cautions: tuple[str, ...], *ratings: str) -> tuple[str, ...]:
    """Return cautions, with that of visual flight behind them where somebody flies so."""
    return (*cautions, VISUAL_CAUTION) if "visual" in ratings else cautions


MEASURES: Mapping[str, str] = {
    "trips_wanted": "Trips wanted",
    "completed_share": "Completed, share of trips wanted",
    "delayed_share": "Of these delayed, share of trips wanted",
    "broken_off_share": "Broken off, share of trips wanted",
    "moved_share": "Of those completed moved to another day, share of trips wanted",
    "adapted_share": "Of those completed adapted to the load, share of trips wanted",
    "marginal_share": "Of those completed marginal on an own rule, share of trips wanted",
    "as_asked_share": "Completed as asked, neither moved nor adapted nor marginal, share of trips wanted",
    "shop_days": "Days in the shop",
    "trips_lost_to_shop": "Trips lost to the shop",
    "stranded": "Times stranded away with a fault",
    "nights_stranded": "Nights away for a fault",
    "flight_hours": "Flight hours (lift-off to touchdown)",
    "block_hours": "Block hours (first movement to stop)",
    "door_to_door_hours": "Hours of all travellers door to door, all wanted trips however made",
    "party_hours": "Hours of one traveller door to door, all wanted trips however made",
    "trips_faster": "Trips made that were faster than the other way",
    "trips_equal": "Trips made that took about as long as the other way",
    "trips_slower": "Trips made that were slower than the other way",
    "trips_by_other_means": "Trips made by car or airline",
    "trips_given_up": "Optional trips given up",
    "must_go_lost": "Trips that had to be made and were not, by light aircraft",
    "car_usd": "Car, dollars",
    "airline_usd": "Airline, dollars",
    "nights_away_forced": "Nights away beyond the plan",
    "flights": "Flights",
    "fuel_stops": "Fuel stops",
    "fuel_gal": "Fuel, US gallons",
    "local_hours": "Of the flight hours, local and practice flying",
    "trips_not_current": "Trips with passengers begun without three landings in 90 days",
    "cost_usd": "Cost of the aircraft, dollars",
    "net_cost_usd": "Net cost: all trips done, dollars",
    "cost_per_hour_usd": "Cost per flight hour, dollars",
    "cost_per_completed_trip_usd": "Cost per completed trip, dollars",
    "dearest_quarter_usd": "Cost of the aircraft in the dearest quarter of the year, dollars",
}

OUTCOME: Mapping[str, str] = {
    Outcome.COMPLETED: "completed",
    Outcome.DELAYED: "completed, but delayed",
    Outcome.BROKEN_OFF: "broken off",
    Outcome.REFUSED: "did not leave",
}

CONDITIONS: Mapping[str, tuple[str, str]] = {
    "fuel_usd_per_gal": ("fuel falls below ${0:.2f} a gallon", "fuel rises above ${0:.2f} a gallon"),
    "flight_hours_per_year": ("you fly fewer than {0:.0f} hours a year", "you fly more than {0:.0f} hours a year"),
    "engine_overhaul_factor": ("engine overhauls cost less than {0:.2f} times today's price",
                               "engine overhauls cost more than {0:.2f} times today's price"),
    "own_money_share_per_year": ("your money would have earned less than {1:.1f} % a year",
                                 "your money would have earned more than {1:.1f} % a year"),
    "trip_length_nm": ("trips are shorter than {0:.0f} nm on average", "trips are longer than {0:.0f} nm on average"),
    "party_size": ("fewer than {0:.1f} people are on board on average",
                   "more than {0:.1f} people are on board on average"),
    "years_kept": ("you keep it less than {0:.1f} years", "you keep it more than {0:.1f} years")}
"""Conditions that may change the cheapest candidate, below and above a value: {0} it, {1} a hundred times it."""

SUBJECTS: Mapping[str, str] = {
    "fuel_usd_per_gal": "price of fuel", "flight_hours_per_year": "number of hours a year",
    "engine_overhaul_factor": "price of overhauls", "own_money_share_per_year": "yield of your money",
    "trip_length_nm": "length of trips", "party_size": "number of people", "years_kept": "number of years kept"}
"""Those conditions by themselves."""

GROUPS: Mapping[str, tuple[str, ...]] = {
    "Fuel": ("fuel",),
    "Maintenance": ("oil", "consumables", "components", "repair", "repair_travel", "annual", "inspection"),
    "Engine and propeller": ("engine_overhaul", "propeller_overhaul", "turbocharger"),
    "Hangar": ("hangar", "outdoor_wear"),
    "Insurance": ("insurance", "deductible"),
    "Training, other fixed": ("subscriptions", "training", "sundries", "tax"),
    "Value lost": ("value_lost", "purchase", "resale", "upgrades"),
    "What your money would have earned": ("capital", "loan"),
    "Buying it": ("pre_purchase", "title_and_ferry", "catch_up"),
    "Fees and nights": ("landing", "stop", "diversion", "overnight", "lodging", "ground"),
    "Rent": ("rent",),
    "Travel otherwise": ("substitute",),
    "Hours of those on board": ("time",),
}
"""Categories of the ledger as a figure shows them; every category in exactly one group."""


def dollars(value: float | None, step: float = 100.0) -> str:
    """Return dollars rounded to a step, with thousands separated; a dash where there is none."""
    if value is None:
        return "–"
    rounded = round(value / step) * step
    return f"{rounded:,.0f}".replace("-", "−")


def each_step(value: float | None) -> float:
    """Return to what the price of one thing is rounded, an hour saved as a trip: to ten dollars from a hundred on."""
    return 1.0 if value is None or abs(value) < 100.0 else 10.0


def each_usd(value: float | None) -> str:
    """Return dollars for one thing, an hour saved or a trip, rounded alike everywhere."""
    return dollars(value, each_step(value))


def in_usd(value: float | None, step: float = 100.0) -> str:
    """Return dollars rounded to a step behind their sign: `$1,200`, `−$300`; a dash where there is none."""
    if value is None:
        return "–"
    text = dollars(abs(value), step)
    return f"−${text}" if value < 0.0 and text != "0" else f"${text}"


def number(value: float | None, decimals: int = 1) -> str:
    """Return a number with thousands separated; a dash where there is none."""
    if value is None or value != value:  # noqa: PLR0124  (NaN)
        return "–"
    text = f"{value:,.{decimals}f}"
    return "0" + text[2:] if text.startswith("-0") and not text.strip("-0.") else text.replace("-", "−")


def some(value: float, one: str, decimals: int = 0) -> str:
    """Return an amount with its noun, which is singular where the amount shown is one: `1 hour`, `1.5 trips`."""
    shown = number(value, decimals)
    return f"{shown} {one}" if re.fullmatch(r"1(\.0*)?", shown) else f"{shown} {one}s"


def percent(value: float | None) -> str:
    """Return a share as a percentage; what is nearly but not wholly 0 or 1 says so."""
    if value is None:
        return "–"
    if 0.0 < value < 0.01:
        return "under 1 %"
    if 0.99 < value < 1.0:
        return "over 99 %"
    return f"{value * 100:.0f} %"


def listing(words: Sequence[str], last: str = "and") -> str:
    """Return words as a list in a sentence."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def plain(word: str) -> str:
    """Return a word of the program as people read it: `broken_off` is `broken off`."""
    return word.replace("_", " ")


def the(name: str) -> str:
    """Return a name with its article, as in `the load carrier`; a name that has one already stays."""
    return name if name.lower().startswith(("the ", "a ", "an ", "our ", "my ")) else f"the {name}"


def start(text: str) -> str:
    """Return a text with a capital first letter."""
    return text[:1].upper() + text[1:]


def source_words(source: str) -> str:
    """Return the source of an assumption as a reader should take it."""
    return source.replace("from memory", "our estimate, no published source")


def kinds_of_sources(sources: Iterable[str]) -> dict[str, int]:
    """Return how many assumptions are law, published, common practice and our own estimates.

    One whose source names several counts by the weakest: what was estimated in part is an estimate.
    """
    found = dict.fromkeys(("law", "published", "common practice", "our own estimates"), 0)
    for source in sources:
        text = source.lower()
        kind = ("our own estimates" if "memory" in text else "common practice" if "common practice" in text else
                "law" if "cfr" in text else "published")
        found[kind] += 1
    return found


def in_ten(share: float) -> str:
    """Return a share as a whole number of ten; what is nearly but not wholly none or all says so."""
    tenths = round(10.0 * share)
    return "hardly any" if share < 0.05 else "nearly all" if share > 0.95 else f"{tenths}"


def years_in_ten(share: float) -> str:
    """Return a share of years in words: `8 years of 10`."""
    if share < 0.05:
        return "hardly any year"
    return "nearly every year" if share > 0.95 else f"{count(round(10.0 * share), 'year')} of 10"


def chance(share: float, years: int) -> str:
    """Return a chance in words, no finer than tenths below 100 simulated years."""
    if share < 0.05:
        return "hardly a chance"
    if share >= 0.95:
        return f"over {95 if share < 0.99 else 99} chances in 100" if years >= 100 else "over 9 chances in 10"
    tenths = round(10.0 * share)
    return f"about {tenths} {'chance' if tenths == 1 else 'chances'} in 10"


def count(n: int, one: str, many: str | None = None) -> str:
    """Return a count with its noun."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"


def month_names() -> tuple[str, ...]:
    """Return the months in three letters, whatever the machine's language."""
    return ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
