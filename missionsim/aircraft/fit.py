"""How well a profile's performance meets its own book figures: fitted ones, and those kept back as checks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from missionsim.aircraft.fitted import FittedPerformance, wing
from missionsim.aircraft.handbook import HandbookPerformance
from missionsim.aircraft.loading import fuel_lb_per_gal
from missionsim.aircraft.performance import AsFlown, Performance, book_performance
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.profile_sections import Book, BookCruise, BookRange, Changes
from missionsim.base.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class FitLine:
    """One book figure against the prediction. `used_in_fit`: the form was made to meet it, so it shows nothing."""

    figure: str
    book: float
    predicted: float
    unit: str
    used_in_fit: bool
    origin: str = "typed"

    @property
    def residual(self) -> float:
        """Predicted less book."""
        return self.predicted - self.book

    @property
    def residual_share(self) -> float:
        """Residual over the book figure."""
        return self.residual / self.book


@dataclass(frozen=True, slots=True)
class Derived:
    """A quantity that the fit gave or that an assumption filled in."""

    name: str
    value: float
    unit: str
    assumed: bool


def fit_report(profile: Profile, assumptions: Assumptions) -> list[FitLine]:
    """Return every book figure with its prediction; empty for a profile of tables alone.

    Predictions are of the book aircraft: full weight or the book's, standard air, rich mixture, no modifications.
    """
    if profile.book is None:
        return []
    base = book_performance(profile, assumptions)
    fitted = isinstance(base, FittedPerformance)
    lines = [*_cruise_lines(profile, profile.book, base, fitted, assumptions),
             *_climb_lines(profile, profile.book, base, fitted, assumptions),
             *_field_lines(profile, profile.book, base, fitted)]
    first = profile.book.cruise[0]
    keys = {f"cruise speed {_at(first)}": "book.cruise.tas_kt", f"fuel flow {_at(first)}": "book.cruise.fuel_flow_gph",
            **_KEYS}
    return [replace(line, origin=profile.origin(keys[line.figure])) if line.figure in keys else line for line in lines]


_KEYS = {"rate of climb at sea level": "book.climb_fpm", "service ceiling": "book.service_ceiling_ft",
         "take-off ground roll": "book.takeoff.ground_roll_ft", "take-off over 50 ft": "book.takeoff.over_50ft_ft",
         "landing ground roll": "book.landing.ground_roll_ft", "landing over 50 ft": "book.landing.over_50ft_ft"}
"""Lines of the report by the figure they are about."""


def _at(point: BookCruise) -> str:
    return f"at {point.level_ft:,.0f} ft, {point.power_share:.0%}"


def derived(profile: Profile, assumptions: Assumptions) -> list[Derived]:
    """Return what the fit derived and what it had to assume; empty for the handbook form."""
    base = book_performance(profile, assumptions)
    if not isinstance(base, FittedPerformance):
        return []
    area_sqft, span_ft = wing(profile, assumptions)
    geometry, book = profile.geometry, profile.book
    return [
        Derived("flat-plate drag area", base.flat_plate_sqft, "sq ft", False),
        Derived("propeller efficiency in the climb", base.climb_efficiency, "share", False),
        Derived("specific fuel consumption, cruise", base.bsfc_lb_per_hp_h, "lb/(hp h)", False),
        Derived("best-rate climb speed", base.climb_cas_kt, "kt calibrated", False),
        Derived("propeller efficiency in cruise", base.cruise_efficiency, "share", True),
        Derived("span efficiency", assumptions["aircraft.span_efficiency"], "-", True),
        Derived("wing span", span_ft, "ft", geometry.wing_span_ft is None),
        Derived("wing area", area_sqft, "sq ft", geometry.wing_area_sqft is None),
        Derived("lift-off speed", base.field.liftoff_kt, "kt calibrated", book is None or book.vs0_cas_kt is None),
    ]


def still_air_range_nm(performance: Performance, level_ft: float, takeoff_weight_lb: float, fuel_gal: float,
                       reserve_min: float, lb_per_gal: float) -> float:
    """Return the distance in still standard air: taxi, climb from sea level, cruise, with a reserve at cruise.

    The descent counts as cruise, as brochures do. Weight in cruise is that half way. [nm]

    Parameters
    ----------
    performance : Performance
    level_ft : float            [ft]
    takeoff_weight_lb : float   [lb]
    fuel_gal : float            Fuel on board. [gal]
    reserve_min : float         [min]
    lb_per_gal : float          Weight of the fuel. [lb/gal]
    """
    _, climb_gal, climb_nm = (float(x) for x in performance.climb(0.0, level_ft, 0.0, takeoff_weight_lb))
    left_gal = fuel_gal - performance.taxi_fuel_gal - climb_gal
    after_climb_lb = takeoff_weight_lb - lb_per_gal * climb_gal
    weight_lb = after_climb_lb - 0.5 * lb_per_gal * left_gal
    tas_kt, flow_gph = (float(x) for x in performance.cruise(level_ft, 0.0, weight_lb))
    return climb_nm + (left_gal - flow_gph * reserve_min / 60.0) / flow_gph * tas_kt


def _cruise_lines(profile: Profile, book: Book, base: FittedPerformance | HandbookPerformance, fitted: bool,
                  assumptions: Assumptions) -> Iterator[FitLine]:
    for i, point in enumerate(book.cruise):
        weight = point.weight_lb or profile.weights.max_takeoff_lb * assumptions["aircraft.book_cruise_weight_share"]
        tas, flow = base.with_power(point.power_share).cruise(point.level_ft, 0.0, weight)
        where = _at(point)
        yield FitLine(f"cruise speed {where}", point.tas_kt, float(tas), "kt", fitted and i == 0)
        yield FitLine(f"fuel flow {where}", point.fuel_flow_gph, float(flow), "gal/h", fitted and i == 0)
    if book.range is not None:
        yield _range_line(profile, book.range, base, assumptions)


def _range_line(profile: Profile, book: BookRange, base: FittedPerformance | HandbookPerformance,
                assumptions: Assumptions) -> FitLine:
    flown = _plain(base.with_power(book.power_share), profile, assumptions)
    predicted = still_air_range_nm(flown, book.level_ft, profile.weights.max_takeoff_lb,
                                   profile.usable_gal, book.reserve_min, fuel_lb_per_gal(profile, assumptions))
    return FitLine(f"range at {book.level_ft:,.0f} ft, {book.power_share:.0%}", book.range_nm, predicted, "nm", False)


def _climb_lines(profile: Profile, book: Book, base: FittedPerformance | HandbookPerformance, fitted: bool,
                 assumptions: Assumptions) -> Iterator[FitLine]:
    top = profile.weights.max_takeoff_lb
    yield FitLine("rate of climb at sea level", book.climb_fpm, float(base.climb_rate_fpm(0.0, 0.0, top)), "ft/min",
                  fitted)
    if book.service_ceiling_ft is not None:
        ceiling = float(_plain(base, profile, assumptions).ceiling_ft(0.0, top))
        yield FitLine("service ceiling", book.service_ceiling_ft, ceiling, "ft", False)


def _field_lines(profile: Profile, book: Book, base: FittedPerformance | HandbookPerformance, fitted: bool,
                 ) -> Iterator[FitLine]:
    top = profile.weights.max_takeoff_lb
    landing_lb = profile.weights.max_landing_lb or top
    sides = (("take-off", book.takeoff, base.takeoff_ft(0.0, 15.0, top, 0.0)),
             ("landing", book.landing, base.landing_ft(0.0, 15.0, landing_lb, 0.0)))
    for name, figures, (roll, over) in sides:
        yield FitLine(f"{name} ground roll", figures.ground_roll_ft, float(roll), "ft", fitted)
        yield FitLine(f"{name} over 50 ft", figures.over_50ft_ft, float(over), "ft", fitted)


def _plain(base: FittedPerformance | HandbookPerformance, profile: Profile, assumptions: Assumptions) -> AsFlown:
    limit = profile.limits.max_level_ft or np.inf
    return AsFlown(base, Changes(), 1.0, 1.0, min(limit, 30_000.0), assumptions["aircraft.ceiling_climb_fpm"], 0.0)
