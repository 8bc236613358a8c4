"""What money needs to know of one aircraft, taken out of its profile."""

from __future__ import annotations

from dataclasses import dataclass

from missionsim.aircraft.figures import Figure, likely
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.profile_sections import Engine, Propeller
from missionsim.base.assumptions import Assumptions
from missionsim.money.engine_life import counted_h
from missionsim.money.market_value import ASKED, MarketValue, market_value


@dataclass(frozen=True, slots=True)
class CostProfile:
    """One aircraft as money sees it.

    Attributes
    ----------
    klass : str            F4, R4, H4 or T6.
    engine : str           `four_small`, `four`, `six`, `six_large`, `turbo` or `diesel`: the key of the engine tables.
    propeller : str        `fixed`, `two_blade` or `three_blade`.
    market_value_usd : float   What such an aircraft sells for, whatever is asked or paid for this one.
    usual_asking_usd : float   What is usually asked to sell for that.
    catch_up_usd : float   Work that is due as soon as it is bought.
    fuel_price_share : float   Price of its fuel over that of aviation gasoline.
    overhaul_usd : float   An engine overhaul as quoted; None: by the tables, with what cannot be foreseen.
    market_value : MarketValue   Where that value comes from, and what such aircraft bring; None: not told.
    hull_follows_value : bool    Insured at the market value, upgrades besides; else at a value that is given.
    """

    name: str
    klass: str
    engine: str
    propeller: str
    seats: int
    rated_hp: float
    retractable: bool
    asking_price_usd: float
    market_value_usd: float
    usual_asking_usd: float
    hull_value_usd: float
    tbo_h: float
    hours_since_overhaul_h: float
    years_since_overhaul: float
    overhaul_kind: str
    propeller_hours_h: float
    propeller_years: float
    hangared: bool = True
    annual_flat_usd: float | None = None
    hangar_usd_per_month: float | None = None
    insurance_usd_per_year: float | None = None
    catch_up_usd: float = 0.0
    upgrades_usd: float = 0.0
    monitored: bool = False
    overhaul_usd: float | None = None
    engines: int = 1
    market_value: MarketValue | None = None
    fuel_price_share: float = 1.0
    hull_follows_value: bool = False
    second_engine_h: float | None = None

    @property
    def value_follows_price(self) -> bool:
        """Whether the market value is what is asked less the usual discount, so that it moves with that discount."""
        return self.market_value is not None and self.market_value.origin == ASKED

    @property
    def mean_engine_h(self) -> float:
        """Hours since overhaul, the mean of both engines where there are two. [h]"""
        return sum(self._engine_h) / 2.0

    def counted_engine_h(self, assumptions: Assumptions) -> float:
        """Return the hours since overhaul that a buyer counts, the mean of both engines where there are two. [h]"""
        return float(counted_h(self._engine_h, self.years_since_overhaul, assumptions).mean())

    @property
    def _engine_h(self) -> tuple[float, float]:
        first = self.hours_since_overhaul_h
        return first, first if self.second_engine_h is None else self.second_engine_h


def aircraft_class(rated_hp: float, cylinders: int, seats: int, *, turbo: bool, retractable: bool,
                   assumptions: Assumptions) -> str:
    """Return the cost class of an aircraft: F4, R4, H4 or T6.

    Parameters
    ----------
    rated_hp : float   Of each engine. [hp]
    cylinders, seats : int
    turbo : bool       Boosted.
    retractable : bool
    assumptions : Assumptions
    """
    if turbo and (rated_hp >= assumptions["cost.turbo_six_hp"] or seats > 4):
        return "T6"
    if cylinders >= 6 or rated_hp >= assumptions["cost.six_cylinder_hp"] or turbo:
        return "H4"
    return "R4" if retractable else "F4"


def cost_profile(profile: Profile, year: int, assumptions: Assumptions, *, hangared: bool = True,
                 upgrades_usd: float = 0.0) -> CostProfile:
    """Return what money needs of a profile; ranges at their likely value, unknown figures at their prior's.

    Parameters
    ----------
    profile : Profile             With drawn figures put in, or as listed.
    year : int                    Year of the purchase, to age overhauls.
    assumptions : Assumptions     Groups `cost`, `engine_life`, `ownership`.
    hangared : bool               Where the owner will keep it.
    upgrades_usd : float          Installed price of upgrades, added to hull value and money tied up.
    """
    engine, turbo = profile.engine, profile.engine.aspiration == "turbo"
    retractable = profile.identity.gear == "retractable"
    klass = aircraft_class(engine.rated_hp, engine.cylinders, profile.identity.seats, turbo=turbo,
                           retractable=retractable, assumptions=assumptions)
    kind = "diesel" if engine.fuel == "jet_a" else engine_key(engine.rated_hp, engine.cylinders, turbo=turbo,
                                                              assumptions=assumptions)
    tbo_h = engine.tbo_h or assumptions["engine_life.tbo_h"][kind]
    hours, years = _engine_state(engine, tbo_h, year, assumptions)
    propeller_years, propeller_h = _propeller_state(profile.propeller, year, assumptions)
    overhaul = engine.overhaul_usd or assumptions["engine_life.overhaul_usd"][kind]
    value = market_value(profile, year, hours, tbo_h, overhaul, assumptions)
    return CostProfile(
        name=profile.name, klass=klass, engine=kind, propeller=propeller_key(profile.propeller),
        seats=profile.identity.seats, rated_hp=engine.rated_hp, retractable=retractable,
        asking_price_usd=profile.prices.asking_price_usd, market_value_usd=value.usd,
        usual_asking_usd=value.usd / (1.0 - assumptions["ownership.purchase_discount_share"]), market_value=value,
        hull_value_usd=(profile.prices.hull_value_usd or value.usd) + upgrades_usd, tbo_h=tbo_h,
        hours_since_overhaul_h=hours, years_since_overhaul=years, overhaul_kind=engine.overhaul_kind,
        propeller_hours_h=propeller_h, propeller_years=propeller_years, hangared=hangared,
        annual_flat_usd=profile.prices.annual_flat_usd, hangar_usd_per_month=profile.prices.hangar_usd_per_month,
        insurance_usd_per_year=profile.prices.insurance_usd_per_year,
        catch_up_usd=catch_up_usd(profile, assumptions), upgrades_usd=upgrades_usd, monitored=engine.monitor,
        overhaul_usd=engine.overhaul_usd, engines=engine.count,
        second_engine_h=second_engine_h(engine, hours),
        fuel_price_share=assumptions["cost.jet_fuel_of_gasoline_share"] if engine.fuel == "jet_a" else 1.0,
        hull_follows_value=profile.prices.hull_value_usd is None)


def engine_key(rated_hp: float, cylinders: int, *, turbo: bool, assumptions: Assumptions) -> str:
    """Return the key of the engine tables: a boosted four-cylinder is priced like a small six.

    Parameters
    ----------
    rated_hp : float   Of each engine. [hp]
    cylinders : int
    turbo : bool       Boosted.
    assumptions : Assumptions
    """
    six = cylinders >= 6 or rated_hp >= assumptions["cost.six_cylinder_hp"]
    if turbo:
        return "turbo" if six else "six"
    if not six:
        return "four" if rated_hp >= assumptions["engine_life.four_small_hp"] else "four_small"
    return "six_large" if rated_hp >= assumptions["engine_life.six_large_hp"] else "six"


def propeller_key(propeller: Propeller) -> str:
    """Return the key of the propeller tables."""
    if not propeller.constant_speed:
        return "fixed"
    return "three_blade" if propeller.blades > 2 else "two_blade"


def catch_up_usd(profile: Profile, assumptions: Assumptions) -> float:
    """Return the work due at purchase by what the listing says; what it does not say counts by its chance."""
    own = {k: assumptions[f"ownership.{k}"] for k in ("tank_reseal_usd", "gear_service_usd", "autopilot_repair_usd",
                                                      "corrosion_usd", "corrosion_share", "cylinder_usd")}
    chance, state = assumptions["ownership.unknown_need_share"], profile.state
    total = likely(state.open_directives_usd, assumptions["ownership.directives_usd"])
    total += own["tank_reseal_usd"] * _need(state.tank_sealant_good, False, chance["tank_sealant"])
    # A life tied down outside rusts like one on the coast; where nothing is said of either it counts once.
    exposed = max(_need(state.coastal, True, chance["coastal"]), _need(state.hangared, False, 0.0))
    total += own["corrosion_usd"] * own["corrosion_share"] * exposed
    if profile.identity.gear == "retractable":
        total += own["gear_service_usd"] * _need(state.gear_serviced, False, chance["gear"])
    if profile.panel.autopilot != "none":
        total += own["autopilot_repair_usd"] * _need(profile.panel.autopilot_works, False, chance["autopilot"])
    return float(total + own["cylinder_usd"] * _low_compression(profile.engine, assumptions))


def _need(answer: bool | str, bad: bool, unknown_share: float) -> float:
    return unknown_share if isinstance(answer, str) else float(answer is bad)


def _low_compression(engine: Engine, assumptions: Assumptions) -> float:
    figure: Figure = engine.compression_psi_of_80
    if isinstance(figure, str):
        return float(assumptions["ownership.unknown_need_share"]["low_compression"])
    return float(likely(figure, 0.0) < assumptions["ownership.low_compression_psi"])


def _engine_state(engine: Engine, tbo_h: float, year: int, assumptions: Assumptions) -> tuple[float, float]:
    hours = likely(engine.hours_since_overhaul_h, 0.5 * tbo_h)
    flown = assumptions["engine_life.unknown_hours_per_year"]
    return hours, max(0.0, year - likely(engine.overhaul_year, year - min(hours / flown, 30.0)))


def second_engine_h(engine: Engine, hours_h: float) -> float | None:
    """Return the second engine's hours since overhaul, those of the first where nothing is said; None in a single."""
    if engine.count == 1:
        return None
    return hours_h if engine.second_hours_since_overhaul_h is None else likely(engine.second_hours_since_overhaul_h,
                                                                              hours_h)


def _propeller_state(propeller: Propeller, year: int, assumptions: Assumptions) -> tuple[float, float]:
    years = max(0.0, year - likely(propeller.overhaul_year, year - assumptions["engine_life.unknown_propeller_years"]))
    flown = assumptions["engine_life.unknown_hours_per_year"]
    return years, likely(propeller.hours_since_overhaul_h, flown * years)
