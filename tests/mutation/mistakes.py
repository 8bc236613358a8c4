"""The mistakes: in which module, what stands there, what stands there instead.

A mistake is found by its exact text, which must stand once in the module; where the code has changed, the run says so.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Mistake:
    """One small mistake in one module of the package."""

    module: str
    right: str
    wrong: str
    why: str = ""

    @property
    def name(self) -> str:
        """A short name for tables."""
        return f"{self.module}: {self.right} -> {self.wrong}"


NEAREST: dict[str, tuple[str, ...]] = {
    "study/compare/two_runs.py": ("tests/study/compare/test_two_runs.py",),
    "physics/atmosphere.py": ("tests/published/test_atmosphere.py",),
    "aircraft/class_draw.py": ("tests/aircraft/test_classes.py",),
    "money/engine_life.py": ("tests/money/test_ownership_cash.py", "tests/money/test_engine_life.py"),
    "world/surface/day_course.py": ("tests/world/surface/test_day_course.py",),
    "physics/wind.py": ("tests/physics/test_wind.py", "tests/published/test_wind_triangle.py",
                        "tests/published/test_runway_wind.py"),
    "statistics/intervals.py": ("tests/published/test_student_t.py", "tests/statistics/test_comparisons.py"),
    "statistics/comparisons.py": ("tests/statistics/test_comparisons.py",),
    "statistics/crossings.py": ("tests/statistics/test_crossings.py",),
    "study/compare/trip_worth.py": ("tests/study/compare/test_trip_worth.py",),
    "money/renting.py": ("tests/study/compare/test_alternatives.py",),
    "money/prices.py": ("tests/money/test_prices.py",),
    "statistics/information_value.py": ("tests/statistics/test_information_value.py",
                                        "tests/published/test_value_of_information.py"),
    "aircraft/performance.py": ("tests/aircraft/test_values_by_hand.py", "tests/aircraft/test_performance.py", "tests/aircraft/test_upgrades.py"),
    "aircraft/fitted.py": ("tests/aircraft/test_values_by_hand.py", "tests/aircraft/test_performance.py", "tests/published/test_performance_tables.py"),
    "aircraft/runway.py": ("tests/aircraft/test_values_by_hand.py", "tests/aircraft/test_runway.py", "tests/published/test_runway_wind.py"),
    "aircraft/loading.py": ("tests/aircraft/test_values_by_hand.py", "tests/aircraft/test_loading.py", "tests/published/test_weight_balance.py"),
    "aircraft/upgrades.py": ("tests/aircraft/test_values_by_hand.py", "tests/aircraft/test_upgrades.py",),
    "study/explain/refusals.py": ("tests/study/explain/test_refusals.py",),
    "year/local_flying.py": ("tests/year/test_local_flying.py",),
    "study/replicate/local_sums.py": ("tests/study/replicate/test_local_sums.py",),
    "study/replicate/wanted.py": ("tests/study/replicate/test_wanted.py",),
    "statistics/straight_line.py": ("tests/statistics/test_straight_line.py",),
    "flight/minima.py": ("tests/flight", "tests/published/test_rules.py", "tests/decide/test_minima.py"),
    "flight/rules.py": ("tests/published/test_rules.py", "tests/flight", "tests/decide/test_marginal.py"),
    "flight/": ("tests/flight", "tests/decide/test_marginal.py"),
    "decide/": ("tests/decide", "tests/study/replicate"),
    "money/": ("tests/money", "tests/published/test_cost_arithmetic.py"),
    "year/demand.py": ("tests/year/test_demand.py", "tests/year/test_values_by_hand.py"),
    "year/reservations.py": ("tests/year/test_reservations.py", "tests/published/test_shared_use.py"),
    "year/waking.py": ("tests/year/test_waking.py",),
    "decide/flight_records.py": ("tests/decide/test_flight_records.py",),
    "year/": ("tests/year/test_values_by_hand.py", "tests/year/test_simulate.py", "tests/year/test_upkeep.py"),
    "study/replicate/": ("tests/study/replicate", "tests/study/compare/test_ownership.py"),
    "study/compare/sensitivity.py": ("tests/study/compare/test_sensitivity.py",),
    "study/compare/recost.py": ("tests/study/compare/test_sensitivity.py", "tests/study/compare/test_ownership.py"),
    "study/compare/forecast_skill.py": ("tests/study/compare/test_forecast_skill.py",),
    "study/prepare/": ("tests/study/prepare", "tests/study/replicate"),
    "study/compare/where_each_wins.py": ("tests/study/compare/test_where_each_wins.py",),
    "study/compare/grid_trips.py": ("tests/study/compare/test_where_each_wins.py",),
    "study/compare/alternatives.py": ("tests/study/compare/test_answer_by_hand.py", "tests/study/compare/test_alternatives.py",),
    "study/compare/measures.py": ("tests/study/compare/test_answer_by_hand.py", "tests/study/compare/test_alternatives.py",),
    "study/compare/certainty.py": ("tests/study/compare/test_answer_by_hand.py", "tests/study/compare/test_certainty.py",),
    "statistics/trade_off.py": ("tests/statistics/test_trade_off.py",),
    "statistics/joint_chances.py": ("tests/statistics/test_joint_chances.py",),
    "base/": ("tests/base/test_normal.py",),
}
"""Tests by the longest beginning of a module's path that stands here: where a mistake in it must be noticed."""

_BY_MODULE: dict[str, tuple[tuple[str, str], ...]] = {
    "world/surface/day_course.py": (
        ("np.roll(m.mean(axis=0), 1)", "np.roll(m.mean(axis=0), -1)"),
        ("0.5 * (high + shape.max(axis=1))", "high"),
        ("course - excess * give", "course + excess * give"),
        ("centred / np.maximum(up, 1e-9) * rise", "centred / np.maximum(up, 1e-9) * fall"),
    ),
    "physics/wind.py": (
        ("return speed * np.cos(angle), speed * np.sin(angle)", "return speed * np.sin(angle), speed * np.cos(angle)"),
        ("return -speed * np.sin(angle), -speed * np.cos(angle)", "return speed * np.sin(angle), -speed * np.cos(angle)"),
        ("square = tas * tas - cross * cross", "square = tas * tas + cross * cross"),
        ("along = np.sqrt(np.maximum(square, 0.0)) - real(headwind_kt)",
         "along = np.sqrt(np.maximum(square, 0.0)) + real(headwind_kt)"),
    ),
    "statistics/intervals.py": (
        ("return math.sqrt(math.fsum(about * about) / (x.size - 1) / x.size)",
         "return math.sqrt(math.fsum(about * about) / x.size / x.size)"),
        ("error = math.sqrt((n - 1) / n * math.fsum(about * about))",
         "error = math.sqrt(math.fsum(about * about) / n)"),
        ("return student_t_quantile(0.5 + 0.5 * confidence_share, float(n - 1)) * error",
         "return student_t_quantile(confidence_share, float(n - 1)) * error"),
    ),
    "statistics/comparisons.py": (
        ("np.arange(p.size, 0, -1)", "np.arange(1, p.size + 1)"),
        ("hit = (signed == best) & np.isfinite(best)", "hit = (signed <= best + 1.0) & np.isfinite(best)"),
        ("dearer, saved = np.subtract(*paired_rows(cost_a, cost_b)), np.subtract(*paired_rows(hours_b, hours_a))",
         "dearer, saved = np.subtract(*paired_rows(cost_a, cost_b)), np.subtract(*paired_rows(hours_a, hours_b))"),
    ),
    "study/compare/trip_worth.py": (
        ("return more_usd / saved_h if saved_h > 0.0 else None", "return saved_h / more_usd if saved_h > 0.0 else None"),
        ("return 0.0 if saved_h >= 0.0 else None", "return 0.0"),
    ),
    "money/renting.py": (
        ('rule["weekend"] * (nights + 1 - weekdays)', 'rule["weekend"] * (nights - weekdays)'),
    ),
    "money/prices.py": (
        ("likely * (low / likely) ** part, likely,", "likely * (low / likely) ** (1.0 - part), likely,"),
        ("if key in QUOTED and entry.overridden and not entry.ranged:", "if key in QUOTED and entry.ranged:"),
    ),
    "statistics/information_value.py": (
        ("weighted_fits(design[there], cost[there], other)", "weighted_fits(design[here], cost[here], own)"),
        ("return np.maximum(0.0, means - mean_informed), chosen", "return np.maximum(0.0, whole[1] - mean_informed), chosen"),
        ("return np.asarray(cost - taken @ found[k:])", "return cost"),
    ),
    "statistics/crossings.py": (
        ("at = -mean_a / mean_b", "at = mean_a / mean_b"),
        ("middle = mean_a * mean_b - share * math.fsum(about_a * about_b)", "middle = mean_a * mean_b"),
    ),
    "aircraft/performance.py": (
        ("return tas_kt * self.speed_share + self.changes.cruise_kt, fuel_flow_gph * self.fuel_share",
         "return tas_kt * self.speed_share, fuel_flow_gph * self.fuel_share"),
        ("distance_nm * self.speed_share + self.changes.cruise_kt * time_h", "distance_nm * self.speed_share"),
        ("share = mean_fpm / (mean_fpm + self.changes.climb_fpm)", "share = (mean_fpm + self.changes.climb_fpm) / mean_fpm"),
        ("return roll_ft * self.changes.landing_share, over_ft * self.changes.landing_share",
         "return roll_ft * self.changes.takeoff_share, over_ft * self.changes.takeoff_share"),
        ("return rate_fpm * 60.0 / self.climb_tas_kt(", "return rate_fpm / self.climb_tas_kt("),
    ),
    "aircraft/fitted.py": (
        ("time_h * flow_gph * self.descent_fuel_share, time_h * tas_kt", "time_h * flow_gph, time_h * tas_kt"),
        ("thrust = np.cbrt(self.engine.full_share(sigma) ** 2 * sigma) / weight",
         "thrust = np.cbrt(self.engine.full_share(sigma) ** 2 * sigma)"),
        ("liftoff_kt = field.liftoff_kt * np.sqrt(weight / sigma)", "liftoff_kt = field.liftoff_kt * np.sqrt(sigma / weight)"),
        ("scale = real(weight_lb) / field.landing_lb / sigma", "scale = real(weight_lb) / field.landing_lb * sigma"),
        ("return np.where(wind > 0.0, ahead, self.tailwind_debit_share * wind)", "return np.where(wind > 0.0, ahead, wind)"),
        ("return self.climb_cas_kt * np.sqrt(weight / self.max_takeoff_lb)", "return self.climb_cas_kt * weight / self.max_takeoff_lb"),
    ),
    "aircraft/runway.py": (
        ("np.maximum(-real(slope_share), 0.0)", "np.maximum(real(slope_share), 0.0)"),
        ("np.where(codes == 0, rain[\"paved\"], rain[\"other\"])", "np.where(codes == 0, rain[\"other\"], rain[\"paved\"])"),
        ("(real(headwind_kt) >= -real(tailwind_limit_kt))", "(real(headwind_kt) >= real(tailwind_limit_kt))"),
        ("return surface, wind, wind & (available - real(required_ft) >= 0.0)",
         "return surface, wind, surface & (available - real(required_ft) >= 0.0)"),
        ("return float(share * (demonstrated or assumptions[\"runway.crosswind_kt\"]))",
         "return float(demonstrated or assumptions[\"runway.crosswind_kt\"])"),
    ),
    "aircraft/loading.py": (
        ("np.where(single & in_front & (score >= -EDGE_IN), SITS_IN_FRONT, 0.0)", "0.0"),
        ("single & in_front & (score >= -EDGE_IN)", "single & in_front"),
        ("return np.minimum(profile.usable_gal, room_lb / fuel_lb_per_gal(profile, assumptions))",
         "return np.minimum(profile.usable_gal, room_lb)"),
        ("for gallons in (np.zeros(weight.shape), np.maximum(fuel, 0.0)):", "for gallons in (np.maximum(fuel, 0.0), np.maximum(fuel, 0.0)):"),
        ("put = left if last else np.minimum(left, held)", "put = left"),
        ("station.seats - taken[:, i], seated[:, i]", "station.seats + 0.0 * taken[:, i], seated[:, i]"),
        ("seats_ok = (people > 0.0).sum(axis=1) <= seats", "seats_ok = (people > 0.0).sum(axis=1) <= seats + 1"),
    ),
    "aircraft/upgrades.py": (
        ("return sum(gains[:1]) + further_share * sum(gains[1:]) + sum(s for s in speeds if s < 0.0)", "return sum(speeds)"),
        ("result[\"empty_weight_lb\"] += upgrade.weight_lb", "result[\"empty_weight_lb\"] += 0.0"),
        ("result[key] *= upgrade.changes.get(key, 1.0)", "result[key] = upgrade.changes.get(key, 1.0)"),
    ),
    "flight/segments.py": (
        ("half_way_lb = after_climb_lb - 0.5 * cruise_h * flow_gph * fuel_lb_per_gal",
         "half_way_lb = after_climb_lb + 0.5 * cruise_h * flow_gph * fuel_lb_per_gal"),
        ("over_ground_nm = descent_nm - wind_kt * descent_h", "over_ground_nm = descent_nm + wind_kt * descent_h"),
        ("slope_headwind_kt = 0.5 * (headwind_kt + low_headwind_kt)", "slope_headwind_kt = headwind_kt"),
        ("0.5 * (crosswind_kt + low_crosswind_kt)) - slope_headwind_kt * slope_h)",
         "0.5 * (crosswind_kt + low_crosswind_kt)) + slope_headwind_kt * slope_h)"),
        ("groundspeed_kt = along_kt - headwind_kt", "groundspeed_kt = along_kt + headwind_kt"),
        ("gallons[short] -= (saved * descent_gal[steep]).astype(gallons.dtype)", "gallons[short] -= 0.0"),
    ),
    "flight/batch.py": (
        ("np.float32(1.0 - limits.tolerance_share)", "np.float32(1.0)"),
        ("flown.flight_h + fuel_weight_h_per_gal * flown.fuel_gal", "flown.flight_h - fuel_weight_h_per_gal * flown.fuel_gal"),
        ("(parts.climb_rate_fpm >= limits.least_climb_fpm.take(row)[:, None])", "(parts.climb_rate_fpm >= 0.0)"),
        ("open_air = good if blocked is None else good & ~blocked", "open_air = good"),
        ("good = flown.possible & climbs & (limits.clears_terrain & limits.oxygen).take(row, axis=0)",
         "good = flown.possible & climbs & limits.clears_terrain.take(row, axis=0)"),
    ),
    "flight/table.py": (
        ("by_weight = np.nan_to_num((zero - lighter) / WEIGHT_STEP_LB)", "by_weight = np.nan_to_num((lighter - zero) / WEIGHT_STEP_LB)"),
        ("need_gal = burn_gal + fuel.approach_gal + flow_gph * fuel.reserve_h", "need_gal = burn_gal + fuel.approach_gal"),
    ),
    "flight/stops.py": (
        ("through = reach[-1][:, None] + wishes.ground_h + step", "through = reach[-1][:, None] + step"),
        ("(hours <= max_leg_h)", "(hours <= 2.0 * max_leg_h)"),
        ("groundspeed_kt = self.tas_kt - headwind_kt", "groundspeed_kt = self.tas_kt + headwind_kt"),
    ),
    "flight/levels.py": (
        ("1000.0 if course < 180.0 else 2000.0", "2000.0 if course < 180.0 else 1000.0"),
        ("levels = thousands if instrument else thousands + 500.0", "levels = thousands if instrument else thousands - 500.0"),
    ),
    "flight/minima.py": (
        ("return VisualMinimum(max(ceiling_ft - relief_ft, 200.0), visibility_sm)", "return VisualMinimum(ceiling_ft, visibility_sm)"),
        ("return max(crew.ceiling_addition_ft - relief_ft, 0.0), crew.visibility_addition_sm",
         "return crew.ceiling_addition_ft - relief_ft, crew.visibility_addition_sm"),
        ("if high and own_ceiling_ft is None:", "if high:"),
        ("\"lnav\": {\"ils\": \"ils\", \"lpv\": \"lnav\",", "\"lnav\": {\"ils\": \"ils\", \"lpv\": \"lpv\","),
        ("np.where(precision, 2, np.where(approach, 1, 0))", "np.where(precision, 1, np.where(approach, 2, 0))"),
    ),
    "flight/rules.py": (
        ("return max(self.runway_margin * (1.0 - self.tolerance_share), min(self.runway_margin, 1.0))",
         "return self.runway_margin * (1.0 - self.tolerance_share)"),
        ("(oxygen_free_ft >= 12_500)", "(oxygen_free_ft >= 10_000)"),
        ("np.where(cabin_ft > 14_000, hours,", "np.where(cabin_ft > 12_500, hours,"),
        ("return self.reserve_night_min if night else self.reserve_day_min", "return self.reserve_day_min if night else self.reserve_night_min"),
        ("np.where(np.asarray(people) > 1, self.max_leg_h_with_passengers, self.max_leg_h_alone)",
         "np.where(np.asarray(people) > 2, self.max_leg_h_with_passengers, self.max_leg_h_alone)"),
    ),
    "flight/leg.py": (
        ("heavy_lb = loads.zero_fuel_lb + (required_gal - fuel.taxi_gal) * fuel.lb_per_gal",
         "heavy_lb = loads.zero_fuel_lb + required_gal * fuel.lb_per_gal"),
        ("required_gal = fuel.taxi_gal + flight_gal + reserve_gal + loads.alternate_gal", "required_gal = fuel.taxi_gal + flight_gal + reserve_gal"),
    ),
    "decide/decide.py": (
        ("landing_lb = takeoff_lb - (cruise_gal + plan.fuel.approach_gal) * plan.fuel.lb_per_gal",
         "landing_lb = takeoff_lb - cruise_gal * plan.fuel.lb_per_gal"),
        ("over = required_gal - plan.fuel.taxi_gal > allowed_gal[:, None]", "over = required_gal > allowed_gal[:, None]"),
        ("cruise_gal = cruise_gal * (1.0 + weather.detour_share[rows.leg])", "cruise_gal = cruise_gal * 1.0"),
        ("ground_h = flights * plan.times.taxi_h + (flights - 1) * plan.times.ground_h", "ground_h = flights * plan.times.taxi_h + flights * plan.times.ground_h"),
        ("required_gal = cruise_gal + fixed_gal + weather.alternate_gal[rows.leg]", "required_gal = cruise_gal + fixed_gal"),
        ("over = _over_comfort_h(plan, hours) + _short_hops_h(plan, flights)[:, None]", "over = _over_comfort_h(plan, hours)"),
        ("score += np.where(marginal == 0, 0.0, MARGINAL_H)", "score += 0.0"),
        ("own_rules |= weather.marginal", "own_rules = weather.marginal"),
        ("return np.asarray(heavy & stops[option])", "return np.asarray(stops[option])"),
        ("(option_bits == np.uint32(BIT[Reason.PAYLOAD])) & (times.discomfort_h < OVER_COMFORT_H)",
         "option_bits == np.uint32(BIT[Reason.PAYLOAD])"),
    ),
    "decide/leg_weather.py": (
        ("later = np.minimum(arrive + 1 + np.arange(OPENS_WITHIN_H), HOURS - 1)", "later = np.minimum(arrive + np.arange(OPENS_WITHIN_H), HOURS - 1)"),
        ("rain = sky.freezing.take(at_departure) | sky.freezing.take(at_arrival)", "rain = sky.freezing.take(at_departure)"),
        ("return LegWeather(reasons, view.below & (own == 0)", "return LegWeather(reasons, view.below"),
        ("np.where(over & ~bad, bit, np.uint32(0))", "np.where(over, bit, np.uint32(0))"),
    ),
    "decide/enroute_weather.py": (
        ("np.maximum(coverage[:, :, 0], coverage[:, :, -1])", "coverage[:, :, 0]"),
        ("low = np.maximum(np.maximum(base_ft, field_ft), freezing_ft)[:, None]", "low = np.maximum(base_ft, freezing_ft)[:, None]"),
        ("freezing_ft = (15.0 + deviation_c - a[\"icing.warmest_c\"]) / 1.98 * 1000.0", "freezing_ft = (15.0 - deviation_c - a[\"icing.warmest_c\"]) / 1.98 * 1000.0"),
        ("np.where(above, a[\"flight.ridge_wind_well_above_kt\"], a[\"flight.ridge_wind_kt\"])",
         "np.where(above, a[\"flight.ridge_wind_kt\"], a[\"flight.ridge_wind_well_above_kt\"])"),
        ("a[\"storms.line_share_with_picture\"] if plan.equipment.weather_on_board else a[\"storms.line_share\"]",
         "a[\"storms.line_share\"] if plan.equipment.weather_on_board else a[\"storms.line_share_with_picture\"]"),
        ("icy = (temperature_c <= a[\"icing.warmest_c\"]) & (temperature_c >= a[\"icing.coldest_c\"])", "icy = temperature_c <= a[\"icing.warmest_c\"]"),
        ("thin_ft = a[\"icing.thin_layer_ft\"] if plan.equipment.crosses_thin_ice else 0.0", "thin_ft = a[\"icing.thin_layer_ft\"]"),
    ),
    "decide/adapt.py": (
        ("return np.setdiff1d(schedule.trip[~some_free & some_load], hopeless)", "return np.unique(schedule.trip[some_load])"),
        ("found.how[way.trips[taken]], found.apart[way.trips[taken]] = way.how, way.apart[taken]",
         "found.how[way.trips[taken]] = way.how"),
        ("left = np.setdiff1d(left, good)", "left = left"),
        ("(landing_lb <= plan.aircraft.max_landing_lb)", "True"),
        ("fits &= (fitting_bits(plan, loads, planned_gal) == 0)[:, None]", "fits &= True"),
        ("(place >= adults[:, None] - apart) & (place > 0)", "(place >= adults[:, None] - apart)"),
        ("bags_lb * (1.0 - gone.sum(axis=1) / np.maximum(people, 1))", "bags_lb"),
        ("np.stack([fuel_gal, reserve_gal, np.zeros(len(trip))])", "np.stack([fuel_gal, fuel_gal, fuel_gal])"),
    ),
    "study/replicate/lighter.py": (
        ("np.where((month >= first) & (month <= last), profile.panel.ice_fluid_lb, 0.0)", "np.full(len(month), profile.panel.ice_fluid_lb)"),
        ("bare.loads(people_lb, bags_lb, extra_empty_lb - weigh_lb.sum())", "bare.loads(people_lb, bags_lb, extra_empty_lb)"),
        ("t.adults_least is None or t.must_be_possible", "t.adults_least is None"),
        ("gear_lb = np.maximum(gear_lb - left_lb, -aircraft.profile.removable_weight_lb)",
         "gear_lb = gear_lb + 0.0"),
    ),
    "decide/runways.py": (
        ("rules.max_tailwind_kt * (1.0 + rules.tolerance_share))", "rules.max_tailwind_kt)"),
        ("landing_lb = takeoff_lb[row, slot] - plans.fuel_gal[row, air_slot] * plan.fuel.lb_per_gal", "landing_lb = takeoff_lb[row, slot]"),
        ("unmarked_ft[n] * margin,", "unmarked_ft[n],"),
        ("low = ~(gradient >= plan.runways.least_gradient_ft_per_nm)", "low = ~(gradient >= 0.0)"),
    ),
    "decide/candidate_plan.py": (
        ("return -(east_kt * self.sine + north_kt * self.cosine)", "return east_kt * self.sine + north_kt * self.cosine"),
        ("return np.abs(north_kt * self.sine - east_kt * self.cosine)", "return np.abs(north_kt * self.cosine - east_kt * self.sine)"),
    ),
    "money/operating_costs.py": (
        ("price = share * places.fuel_usd_per_gal[flights[\"from_place\"]]", "price = share * places.fuel_usd_per_gal[flights[\"to_place\"]]"),
        ("missing * share * places.fuel_usd_per_gal[places.home]", "0.0 * missing"),
        ("rooms = np.ceil(trips[\"people\"] / assumptions[\"cost.people_per_room\"])", "rooms = trips[\"people\"] / assumptions[\"cost.people_per_room\"]"),
        ("1.0 / assumptions[\"engine_life.propeller_years\"])", "0.0 / assumptions[\"engine_life.propeller_years\"])"),
        ("sum(count[name] * cost[name] / life[name] for name in sorted(cost))", "sum(cost[name] / life[name] for name in sorted(cost))"),
        ("np.maximum(left - here, 0.0)", "np.maximum(left - here - 1.0, 0.0)"),
    ),
    "year/waking.py": (
        ("np.where(long_h < self.night_h, long_h, awake_h)", "awake_h"),
        ("np.minimum(since_h, self.hours)", "since_h"),
    ),
    "decide/flight_records.py": (
        ("max(planned_h[leg] + before_h, arrived_h[leg - 1])", "planned_h[leg] + before_h"),
        ("own_h = max(own_h, before_h)", "own_h = before_h"),
        ("end.rested_h - end.nights_rested * waking.night_h", "end.rested_h"),
    ),
    "money/substitute.py": (
        ("otherwise = anew + np.where(back, 0.5 * (1.0 - anew), 0.0)", "otherwise = anew"),
        ("np.where(broken, 1.0 - np.minimum(trips[\"places_reached\"] / asked, 1.0), 0.0)", "np.where(broken, 1.0, 0.0)"),
        ("cars = np.ceil(terms.people[row] / assumptions[\"cost.car_seats\"])", "cars = 1.0"),
        ("usd = travel.car_usd - travel.apart_usd + travel.airline_usd + travel.lost_usd",
         "usd = travel.car_usd - travel.apart_usd + travel.airline_usd"),
    ),
    "money/overhauls.py": (
        ("% life + (0.0 if draws.more_h is None else draws.more_h)", "% life"),
        ("overhaul_h\": self.second_hours_h}", "overhaul_h\": self.hours_since_overhaul_h}"),
        ("self.worn_h = np.where(reached, 0.0, self.worn_h + flown_h * (wear - 1.0))", "self.worn_h = np.where(reached, 0.0, self.worn_h)"),
        ("self.used_h = np.where(reached, flown_h - until_h, self.used_h + flown_h)", "self.used_h = np.where(reached, 0.0, self.used_h + flown_h)"),
        ("np.where(draws.was_idle, _hastened(u, a[\"engine_life.idle_factor\"]), u)", "u"),
        ("(self.due_h - self.used_h - self.worn_h) / wear", "(self.due_h - self.used_h) / wear"),
        ("(uniform > 1.0 - assumptions[\"engine_life.extra_share\"])", "(uniform < 1.0 - assumptions[\"engine_life.extra_share\"])"),
        ("self.age = np.where(reached, 0.5, self.age + 1.0)", "self.age = self.age + 1.0"),
    ),
    "money/engine_life.py": (
        ("np.maximum(hours - early_h, 0.0) * share)", "np.maximum(hours - early_h, 0.0) / share)"),
        ("np.where(flown < assumptions[\"engine_life.idle_hours\"], assumptions[\"engine_life.idle_factor\"], 1.0)",
         "np.where(flown > assumptions[\"engine_life.idle_hours\"], assumptions[\"engine_life.idle_factor\"], 1.0)"),
        ("cumulative += cumulative[0] * (assumptions[\"engine_life.early_factor\"][kind] - 1.0)", "cumulative += 0.0"),
        ("points[1:] = points[0] + (points[1:] - points[0]) * stretch", "points[1:] = points[1:] * stretch"),
    ),
    "money/maintenance.py": (
        ("fee * labor_factor(prices, assumptions) * twin_factor(candidate, assumptions), shop[\"trip\"][hundred])",
         "fee * twin_factor(candidate, assumptions), shop[\"trip\"][hundred])"),
        ("away = _rows(shop, Shop.FAULT) & (shop[\"place\"] != places.home)", "away = _rows(shop, Shop.FAULT)"),
        ("accrued, end, fee * (1.0 + skewed_mean(*ratio)))", "accrued, end, fee)"),
    ),
    "money/market_value.py": (
        ("held = asked > usual.high_usd", "held = asked > usual.usual_usd"),
        ("panel.autopilot_works is not False", "panel.autopilot_works != \"no\""),
        ("(min(hours_h / tbo_h, 1.0) - 0.5)", "min(hours_h / tbo_h, 1.0)"),
        ("ratio = newer * (profile.identity.year - KINDS[name].year)", "ratio = newer * (KINDS[name].year - profile.identity.year)"),
    ),
    "money/insurance.py": (
        ("** (owners - 1)", "** owners"),
        ("if aircraft.klass == \"H4\" and not aircraft.retractable:", "if aircraft.klass == \"H4\":"),
        ("if aircraft.seats > 4:", "if aircraft.seats >= 4:"),
        ("if pilot.age >= age:", "if pilot.age > age + 5:"),
        ("if aircraft.retractable and pilot.retractable_h < below:", "if pilot.retractable_h < below:"),
    ),
    "money/resale.py": (
        ("hours = per_h * (np.minimum(priced_hours_h, tbo) - aged)", "hours = per_h * (aged - np.minimum(priced_hours_h, tbo))"),
        ("left = (1.0 - a[\"selling_share\"]) * (base + hours + fresh > 0.0)", "left = 1.0 * (base + hours + fresh > 0.0)"),
        ("* (1.0 - now / tbo)", "* (now / tbo)"),
    ),
    "money/ownership_cash.py": (
        ("got.aircraft * value)", "got.aircraft)"),
        ("if self.rise_share else self.discount_share", "if not self.rise_share else self.discount_share"),
        ("factor = float(capital_recovery_factor(real_rate_share(rate, rise), years))", "factor = float(capital_recovery_factor(rate, years))"),
        ("usual = found > draws.catch_up_usd", "usual = found > 0.0"),
        ("usd = _at(0, years, -principal)", "usd = _at(0, years, principal)"),
        ("left = 1.0 if draws.value_lost_share is None else 1.0 - draws.value_lost_share", "left = 1.0"),
        ("return float(candidate.asking_price_usd * (1.0 - assumptions[\"ownership.purchase_discount_share\"]))",
         "return float(candidate.asking_price_usd)"),
    ),
    "money/finance.py": (
        ("monthly = np.asarray(rate_share, dtype=np.float64) / 12.0\n    factor", "monthly = np.asarray(rate_share, dtype=np.float64)\n    factor"),
        ("return sinking_fund_factor(rate_share, years) + np.asarray(rate_share, dtype=np.float64)", "return sinking_fund_factor(rate_share, years)"),
    ),
    "money/cost_sharing.py": (
        ("own = FEES | ({Category.FUEL} if hourly == \"dry\" else set())", "own = FEES | ({Category.FUEL} if hourly == \"wet\" else set())"),
        ("return down + (rank < missing[:, None])", "return down"),
        ("assessed[:, y] = np.maximum(-now, 0.0)", "assessed[:, y] = np.maximum(now, 0.0)"),
    ),
    "money/hire_rates.py": (
        ("kept = (1.0 - self.ticket_tax_share) * (1.0 - self.operator_share)", "kept = 1.0 - self.ticket_tax_share - self.operator_share"),
        ("/ (1.0 - margin_share)", "* (1.0 + margin_share)"),
    ),
    "money/fixed_costs.py": (
        ("wear = 0.0 if candidate.hangared else", "wear = 0.0 if not candidate.hangared else"),
    ),
    "year/simulate.py": (
        ("nights = ceil(flight_h / limits.max_flight_per_day_h) - 1", "nights = ceil(flight_h / limits.max_flight_per_day_h)"),
        ("if depart_h >= self._rested_from_h(party):", "if depart_h >= self._rested_from_h(party) + 10.0:"),
        ("if not party.skipped:\n            party.reached += 1", "if True:\n            party.reached += 1"),
        ("people = 1 if purpose is Purpose.FERRY else int(self.schedule.people[trip])", "people = int(self.schedule.people[trip])"),
        ("party.late = self.env.now > planned_h + self.limits_of[party.trip].late_outbound_h",
         "party.late = self.env.now > planned_h + 10.0 * self.limits_of[party.trip].late_outbound_h"),
        ("if wait_h <= self.limits_of[party.trip].hold_for_weather_h:", "if wait_h >= self.limits_of[party.trip].hold_for_weather_h:"),
        ("return day % WEEK_DAYS >= SATURDAY", "return day % WEEK_DAYS > SATURDAY"),
    ),
    "year/upkeep.py": (
        ("self.oil_at_h = -upkeep.oil_since_h", "self.oil_at_h = upkeep.oil_since_h"),
        ("if self.wear.defer_rank[k] < upkeep.deferrable_share:", "if self.wear.defer_rank[k] > upkeep.deferrable_share:"),
        ("return work_h + upkeep.find_median_h + rank * beyond_h", "return work_h + upkeep.find_median_h"),
    ),
    "year/reservations.py": (
        ("self.kindness[holder] < self.rule.give_way_share", "self.kindness[holder] > self.rule.give_way_share"),
        ("if rule.members <= 1:", "if rule.members <= 2:"),
        ("opens = start - min(rule.release_h, rule.opens_h)", "opens = start - rule.opens_h"),
    ),
    "year/demand.py": (
        ("shift = 6 if southern else 0", "shift = 0"),
        ("return all(day + stay + gap < a or day > b + gap for a, b in taken)", "return all(day + stay < a or day > b for a, b in taken)"),
    ),
    "study/replicate/tally.py": (
        ("for c in (\"flight_h\", \"block_h\", \"fuel_burn_gal\"))", "for c in (\"block_h\", \"flight_h\", \"fuel_burn_gal\"))"),
        ("otherwise = refused & ~each.given_up", "otherwise = refused"),
        ("(code == 3) & structural, (code == 3) & ~structural", "(code == 3) & ~structural, (code == 3) & structural"),
        ("per(code <= 1), per(code == 1)", "per(code <= 1), per(code <= 1)"),
        ("np.where(flight < 0, flight, flight + first)", "flight"),
    ),
    "study/compare/sensitivity.py": (
        ("corrosion = a[\"ownership.corrosion_usd\"] * a[\"ownership.corrosion_share\"] / years_kept(p)",
         "corrosion = a[\"ownership.corrosion_usd\"] * a[\"ownership.corrosion_share\"]"),
        ("swing = abs((high[first] - high[second]) - (low[first] - low[second]))", "swing = abs(high[first] - low[first])"),
    ),
    "study/compare/recost.py": (
        ("premium_factor=change.scale.get(Category.INSURANCE, 1.0),", "premium_factor=1.0,"),
    ),
    "study/compare/forecast_skill.py": (
        ("go & any_below,", "go & below[0],"),
        ("stop = (chance >= ends.risk).any(axis=1)", "stop = (chance >= ends.risk).all(axis=1)"),
    ),
    "study/prepare/candidates.py": (
        ("alternate_gal = a[\"flight.stop_alternate_h\"] * flow_gph if draft.rules.instrument else 0.0", "alternate_gal = 0.0"),
        ("draft.fuel.taxi_gal + draft.fuel.approach_gal + draft.fuel.reserve_h * flow_gph + alternate_gal",
         "draft.fuel.taxi_gal + draft.fuel.reserve_h * flow_gph + alternate_gal"),
    ),
    "study/prepare/itineraries.py": (
        ("step = max(round((allowed_gal - self.reserve_gal) / FUEL_STEP_GAL), 1)", "step = max(round(allowed_gal / FUEL_STEP_GAL), 1)"),
        ("far = distance > 12.0", "far = distance >= 0.0"),
    ),
    "study/explain/refusals.py": (
        ("part.trips.outcome >= BROKEN_OFF", "part.trips.outcome > BROKEN_OFF"),
        ("Margin(middle.reason, middle.unit, float(median(values)), values[-1]", "Margin(middle.reason, middle.unit, float(median(values)), values[0]"),
    ),
    "year/local_flying.py": (
        ("at_h + flight_h + BEFORE_TRIP_H <= leave", "at_h + BEFORE_TRIP_H <= leave"),
        ("(k + 0.5) * days / count", "k * days / count"),
    ),
    "study/replicate/local_sums.py": (
        ("done[0] - done[1] < LANDINGS", "done[0] - done[1] <= LANDINGS"),
        ('(trips["people"] > 1)', '(trips["people"] > 0)'),
    ),
    "study/replicate/wanted.py": (
        ("must_go | (rank < share)", "must_go & (rank < share)"),
        ("rank < share", "rank > share"),
    ),
    "statistics/straight_line.py": (
        ("(value - middle) ** 2 / square", "(value - middle) / square"),
        ("float(xs.size - 2)", "float(xs.size)"),
    ),
    "statistics/trade_off.py": (
        ("for row in np.lexsort((h, usd)).tolist():", "for row in np.lexsort((usd, h)).tolist():"),
        ("extra, saved, gained = cost[b] - cost[a], hours[a] - hours[b], trips[b] - trips[a]",
         "extra, saved, gained = cost[b] - cost[a], hours[b] - hours[a], trips[b] - trips[a]"),
        ("_price(extra, saved) if dearer and quicker else None", "_price(extra, saved)"),
    ),
    "statistics/joint_chances.py": (
        ("wider = np.sqrt(1.0 + prior_errors**-2)", "wider = np.sqrt(1.0 + prior_errors**2)"),
        ("out += _root(np.atleast_2d(np.cov(years)) / n)", "out += _root(np.atleast_2d(np.cov(years)))"),
        ("adjusted = 1.0 - (1.0 - share) * (n - 1) / max(n - rank - 1, 1)", "adjusted = share"),
    ),
    "money/other_ways.py": (
        ("value = max(prices.value_of_time_usd_per_h, a[\"time.choice_usd_per_h\"])",
         "value = prices.value_of_time_usd_per_h"),
        ("on_the_way = 2.0 * np.maximum(", "on_the_way = np.maximum("),
        ("fare = fare * np.where(terms.must_go, a[\"cost.short_notice_factor\"], 1.0)", "fare = fare * 1.0"),
        ("return Mode(np.where(none, np.inf, made.usd), np.where(none, np.inf, made.hours)",
         "return Mode(np.where(none, 0.0, made.usd), np.where(none, np.inf, made.hours)"),
        ("flies & ~said, on_dates, given_up", "flies, on_dates, given_up"),
    ),
    "study/replicate/shop_sums.py": (
        ("lost = ~np.isin(trips[\"outcome\"], MADE) &", "lost = np.isin(trips[\"outcome\"], MADE) &"),
        ("np.clip(shop[\"end_h\"], 0.0, YEAR_H)", "np.clip(shop[\"end_h\"], 0.0, None)"),
    ),
    "study/compare/where_each_wins.py": (
        ("w.usd[cell] + usd_per_h * w.valued_h[cell]", "w.usd[cell] + usd_per_h * w.party_h[cell]"),
        ("error = float(np.sqrt(years.var(ddof=1) / len(years) + draws.var()))",
         "error = float(np.sqrt(years.var(ddof=1) / len(years)))"),
        ("np.where(t.other_airline == by_air, t.other_usd, 0.0)", "np.where(t.other_airline != by_air, t.other_usd, 0.0)"),
        ("- outside - booked) / hours)", "- outside) / hours)"),
    ),
    "study/compare/grid_trips.py": (
        ("season = {(d, k): (k + STRIDE * d) % count for d, k, _ in spots}", "season = {(d, k): d for d, k, _ in spots}"),
        ("int(row * 360 / max(count, 1))", "int(row * 30 / max(count, 1))"),
    ),
    "study/compare/alternatives.py": (
        ("other_h = np.where(gone, 0.0, trips.other_h)\n", "other_h = trips.other_h\n"),
        ("hours = np.where(gone, 0.0, trips.other_h).astype(np.float64)", "hours = trips.other_h.astype(np.float64)"),
        ("return (\"no\" if found[\"high\"] < 0.0 else \"too close to tell\"), why",
         "return (\"no\" if found[\"low\"] < 0.0 else \"too close to tell\"), why"),
    ),
    "study/compare/measures.py": (
        ("both = a.trips.made & b.trips.made", "both = a.trips.made | b.trips.made"),
        ("out = np.any([t.trips.given_up for t in tallies], axis=0)", "out = np.all([t.trips.given_up for t in tallies], axis=0)"),
    ),
    "study/compare/certainty.py": (
        ("residual = independent(study, by_year - effects - routines)", "residual = independent(study, by_year - routines)"),
        ("luck = max(of_years - listing, 0.0)", "luck = of_years"),
    ),
    "base/normal.py": (
        ("likely * np.exp(z * np.where(z < 0.0, down, up))", "likely * np.exp(z * np.where(z < 0.0, up, down))"),
        ("lower = np.exp(0.5 * down * down) * normal_cdf(-down)", "lower = np.exp(0.5 * down * down) * normal_cdf(down)"),
    ),
    "aircraft/class_draw.py": (
        ("self._agrees - 0.5 * np.square(deviate)", "self._agrees + 0.5 * np.square(deviate)"),
        ("np.clip(fuel, gal / most, gal / least)", "np.clip(fuel, gal / least, gal / most)"),
    ),
    "physics/atmosphere.py": (
        ("HPA_PER_PSI * differential_psi, P0_HPA)", "HPA_PER_INHG * differential_psi, P0_HPA)"),
    ),
    "study/compare/two_runs.py": (
        ("common = 0 if why_not else min(", "common = min("),
        ("after[i], before[i], common > 0, batches", "before[i], after[i], common > 0, batches"),
        ("[:, :common or None]", "[:, :]"),
        ('("seed", "seeds"), ', ""),
        ("min(len(after), len(before)) < LEAST_BATCHES", "min(len(after), len(before)) <= LEAST_BATCHES"),
        ("if _is_guess(a, whose, key) and _is_guess(b, whose, key):", "if _is_guess(a, whose, key) or _is_guess(b, whose, key):"),
    ),
}

MISTAKES: tuple[Mistake, ...] = tuple(
    Mistake(module, right, wrong) for module, pairs in _BY_MODULE.items() for right, wrong in pairs)
