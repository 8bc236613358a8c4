"""What such an aircraft usually brings: its class at its age, with its engine hours and its equipment.

The middle price of the class is carried to the year built, the hours and the panel by a relation published in the
assumptions; about it lies the range in which eight of ten such aircraft sell. An asked price outside is a finding; of
one above, only the end of the range comes back, and one below is worth what is paid: a bargain nobody has looked into
is no gain.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

from missionsim.aircraft.classes import KINDS, class_named, figures_of
from missionsim.aircraft.figures import likely
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.upgrades import catalogue
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import normal_quantile


@dataclass(frozen=True, slots=True)
class UsualPrice:
    """What such an aircraft sells for: the 10, 50 and 90 % points. [usd]

    `class_words`: the class it was priced as.
    """

    class_words: str
    low_usd: float
    usual_usd: float
    high_usd: float


@dataclass(frozen=True, slots=True)
class MarketValue:
    """What one aircraft is worth on the market, whatever is paid for it.

    Attributes
    ----------
    usd : float
    origin : str                  `given`, `asked less the usual discount`, or held at the most such aircraft bring.
    usual : UsualPrice
    asked_over_usual_share : float   Asked less the usual discount, over what such an aircraft usually brings, less 1.
    finding : str                 What is to be said where the range does not hold the asking price; else empty.
    """

    usd: float
    origin: str
    usual: UsualPrice
    asked_over_usual_share: float
    finding: str

    def entry(self) -> dict[str, float | str]:
        """Return it under the keys of the printed object."""
        return {"usd": self.usd, "origin": self.origin, "usual_usd": self.usual.usual_usd,
                "low_usd": self.usual.low_usd, "high_usd": self.usual.high_usd, "finding": self.finding}


GIVEN, ASKED = "given", "asked less the usual discount"
HELD_HIGH = "held at the most such aircraft bring"


def market_value(profile: Profile, year: int, hours_h: float, tbo_h: float, overhaul_usd: float,
                 assumptions: Assumptions) -> MarketValue:
    """Return what an aircraft sells for: as given, else asked less the usual discount, at most what such bring.

    Who asks too much owns no dearer aircraft, and who asks little is taken to know why: the lower of price and market
    value counts. What the listing says of damage and papers lowers the range. A price outside is a finding.

    Parameters
    ----------
    profile : Profile
    year : int             Of the purchase.
    hours_h, tbo_h : float Since overhaul, and published between overhauls.
    overhaul_usd : float   Of one engine.
    """
    usual = usual_price(profile, year, hours_h, tbo_h, overhaul_usd, assumptions)
    asked = profile.prices.asking_price_usd * (1.0 - assumptions["ownership.purchase_discount_share"])
    over, given = asked / usual.usual_usd - 1.0, profile.prices.market_value_usd
    outside = not usual.low_usd <= asked <= usual.high_usd
    guessed = "prices.asking_price_usd" in profile.class_guesses
    finding = _finding(profile, usual, over, given) if outside and not guessed else ""
    if given is not None:
        return MarketValue(given, GIVEN, usual, over, finding)
    if asked > usual.high_usd and not guessed:
        return MarketValue(usual.high_usd, HELD_HIGH, usual, over, finding)
    return MarketValue(asked, ASKED, usual, over, finding)


def usual_price(profile: Profile, year: int, hours_h: float, tbo_h: float, overhaul_usd: float,
                assumptions: Assumptions) -> UsualPrice:
    """Return what aircraft of the class bring at this age, with these hours and this panel; parameters as above.

    Parameters
    ----------
    profile : Profile
    year : int             Calendar year.
    hours_h : float        Since overhaul. [h]
    tbo_h : float          Published time between overhauls. [h]
    overhaul_usd : float   Price of an overhaul. [usd]
    assumptions : Assumptions
    """
    name = priced_class(profile)
    a = {k: assumptions[f"market_value.{k}"] for k in ("newer_share", "newer_modern_share", "engine_share",
                                                       "spread_share")}
    middle = 1000.0 * figures_of(name)["hull_kusd"].likely
    newer = a["newer_modern_share"] if KINDS[name].year >= assumptions["market_value.modern_year"] else a["newer_share"]
    ratio = newer * (profile.identity.year - KINDS[name].year)
    ratio -= a["engine_share"] * (min(hours_h / tbo_h, 1.0) - 0.5) * overhaul_usd * profile.engine.count / middle
    ratio += _panel_share(profile, middle, assumptions) + _airframe_share(profile, year, assumptions)
    ratio += _history_share(profile, assumptions)
    usual = middle * exp(ratio)
    spread = exp(a["spread_share"] * float(normal_quantile(0.9)))
    return UsualPrice(KINDS[name].words, usual / spread, usual, usual * spread)


def priced_class(profile: Profile) -> str:
    """Return the short name of the class an aircraft is priced as: the one it names, else the nearest by its build.

    Engines, pressure, fuel and turbocharger decide first, then gear and seats, then power; turboprops are none.
    """
    named = class_named(profile.class_words) if profile.class_words else None
    if named is not None:
        return named
    engine, turbo = profile.engine, profile.engine.aspiration == "turbo"

    def distance(name: str) -> float:
        kind, of = KINDS[name], figures_of(name)
        apart = 100.0 * (kind.engines != engine.count) + 50.0 * (kind.pressurised != profile.identity.pressurised)
        apart += 50.0 * (kind.jet_fuel != (engine.fuel == "jet_a")) + 10.0 * (kind.turbo != turbo)
        apart += 2.0 * (kind.gear != profile.identity.gear) + abs(of["seats"].likely - profile.identity.seats)
        return apart + 10.0 * abs(log(engine.rated_hp / of["hp_each"].likely))

    return min((name for name, kind in KINDS.items() if kind.flown), key=distance)


def _panel_share(profile: Profile, middle_usd: float, assumptions: Assumptions) -> float:
    """Return how much more the panel advertised brings than an old one, as a share (of the logarithm) of the price.

    What the buyer has built in is no part of what is advertised.
    """
    panel, share, known = profile.panel, assumptions["market_value.panel_share"], catalogue(assumptions)
    later = {key for name in profile.changes.names if name in known for key in known[name].sets}
    has = {"lpv": panel.approach == "lpv" and "panel.approach" not in later,
           "two_axis": (panel.autopilot == "two_axis" and panel.autopilot_works is not False
                        and "panel.autopilot" not in later),
           "electronic_attitude": panel.electronic_attitude and "panel.electronic_attitude" not in later,
           "ice_approved": panel.ice_protection == "approved" and "panel.ice_protection" not in later}
    blind = not panel.ads_b or "panel.ads_b" in later
    less = assumptions["market_value.no_ads_b_usd"] / middle_usd if blind else 0.0
    return float(sum(share[key] for key, there in has.items() if there) - less)


def _airframe_share(profile: Profile, year: int, assumptions: Assumptions) -> float:
    """Return what airframe hours other than those of its age do to the price."""
    usual = max(year - profile.identity.year, 0) * assumptions["engine_life.unknown_hours_per_year"]
    hours = likely(profile.state.airframe_hours_h, usual)
    return float(-assumptions["ownership.value_lost_per_airframe_h"] * (hours - usual))


def _history_share(profile: Profile, assumptions: Assumptions) -> float:
    """Return what damage and missing logs take off, where the listing says them; silence is the usual aircraft."""
    lost = assumptions["unknown.value_lost_share"]
    out = -lost.get(profile.state.damage_history, 0.0)
    return float(out - (lost["logs_missing"] if profile.state.logs_complete is False else 0.0))


def _finding(profile: Profile, usual: UsualPrice, over: float, given: float | None) -> str:
    side, why = ("over", "ask the seller why") if over > 0.0 else ("under", "ask the seller why before all else")
    if over < 0.0 and profile.prices.asking_price_usd < 1000.0 * figures_of(priced_class(profile))["hull_kusd"].low:
        why = f"so little is asked as a rule for a run-out engine or gaps in the papers: {why}"
    if given is None:
        why += f"; it is valued at {'the most of that' if over > 0.0 else 'what is paid for it'}"
    low, middle, high = (f"{round(usd, -3):,.0f}" for usd in (usual.low_usd, usual.usual_usd, usual.high_usd))
    return (f"asks {abs(over):.0%} {side} what we expect such an aircraft to bring, the usual discount taken off "
            f"({usual.class_words}, {profile.identity.year}: about {middle} dollars, 8 of 10 from {low} to {high}; a "
            f"rough estimate of ours); {why}").replace("%", " %")
