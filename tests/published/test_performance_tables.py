"""Take-off, climb, cruise and landing tables of the FAA's sample airplanes.

Sources beside each check; PHAK is FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge, performance chapter.
"""

from __future__ import annotations

import numpy as np
import pytest
from aircraft_cases import profile, tables
from weights import square_law_share

from missionsim.aircraft.fitted import FieldModel, fitted_from_book
from missionsim.aircraft.handbook import HandbookPerformance, handbook_from_tables
from missionsim.base.assumptions import packaged_assumptions

A = packaged_assumptions()
F_TO_C = 5.0 / 9.0


def handbook(**sections: object) -> HandbookPerformance:
    return handbook_from_tables(profile(book=..., tables=tables(**sections), weights__max_takeoff_lb=3700.0,
                                        weights__empty_weight_lb=2300.0, envelope=...), A)


# PHAK, interpolation of take-off data (figure 10-20 in the 2008 edition, 11-20 later): ground roll at 20 °C.
ROLL = {"pressure_altitude_ft": [2000.0, 3000.0], "temperature_c": [20.0], "ground_roll_ft": [[1115.0], [1230.0]],
        "over_50ft_ft": [[2090.0], [2300.0]]}
# PHAK Sample Problem 3, short-field take-off at 2,400 lb; table readings from memory.
SHORT = {"pressure_altitude_ft": [3000.0], "temperature_c": [30.0], "ground_roll_ft": [[1325.0]],
         "over_50ft_ft": [[2480.0]]}
# FAA landing table, knowledge-test figure 38: hard surface, standard temperatures; 1,075, 1,135 and the rolls at 5,000
# and 7,500 ft are from memory.
LANDING = {"pressure_altitude_ft": [0.0, 2500.0, 5000.0, 7500.0], "ground_roll_ft": [445.0, 470.0, 495.0, 520.0],
           "over_50ft_ft": [1075.0, 1135.0, 1195.0, 1255.0], "headwind_for_tenth_less_kt": 4.0,
           "above_standard_for_tenth_more_c": 60.0 * F_TO_C}
# FAA commercial knowledge test, climb table (figure 14): pounds of fuel at 3,700 lb, minutes at 3,400 lb.
CLIMB = {"weight_lb": [3400.0, 3700.0], "level_ft": [0.0, 4000.0, 8000.0, 12_000.0],
         "time_min": [[0.0, 5.0, 10.0, 16.0], [0.0, 5.5, 11.5, 19.0]],
         "fuel_gal": [[0.0, 1.5, 3.2, 5.2], [0.0, 12.0 / 6.0, 24.0 / 6.0, 37.0 / 6.0]],
         "above_standard_for_tenth_more_c": 7.0}
# PHAK Sample Problem 7 (figure 10-27): 6,000 ft, ISA + 20 °C, 65 %: 161 kt, 11.5 gal/h.
CRUISE = {"level_ft": [6000.0], "isa_deviation_c": [20.0], "power_share": [0.65], "tas_kt": [[[161.0]]],
          "fuel_flow_gph": [[[11.5]]], "weight_lb": 3700.0}


@pytest.mark.published
def test_take_off_roll_between_two_rows():
    roll, _ = handbook(takeoff=ROLL).takeoff_ft(2500.0, 20.0, 3700.0, 0.0)
    assert float(roll) == pytest.approx(1172.5, abs=0.05)


@pytest.mark.published
def test_short_field_take_off_with_headwind():
    roll, over = handbook(takeoff=SHORT).takeoff_ft(3000.0, 30.0, 3700.0, 18.0)
    assert float(roll) == pytest.approx(1060.0, abs=0.5)
    assert float(over) == pytest.approx(1984.0, abs=0.5)


@pytest.mark.published
@pytest.mark.parametrize(("headwind", "factor"), [(12.0, 0.8667), (-4.0, 1.20), (9.0, 0.9), (-10.0, 1.5)])
def test_wind_note_of_light_aircraft_tables(headwind, factor):
    """Notes of PHAK and other light-aircraft tables: -10 % for 9 kt ahead, +10 % for 2 kt behind, up to 10 kt."""
    perf = handbook(takeoff=SHORT)
    calm, wind = (perf.takeoff_ft(3000.0, 30.0, 3700.0, w)[0] for w in (0.0, headwind))
    assert float(wind / calm) == pytest.approx(factor, abs=0.0005)


@pytest.mark.published
def test_square_law_of_the_wind():
    """PHAK, take-off performance: headwind of 10 % of take-off speed 19 % less, tailwind 21 % more."""
    assert float(square_law_share(6.0, 60.0)) == pytest.approx(0.81, abs=0.005)
    assert float(square_law_share(-6.0, 60.0)) == pytest.approx(1.21, abs=0.005)
    fit = fitted_from_book(profile(), A)
    assert isinstance(fit.field, FieldModel)
    counted = fit.field.liftoff_kt * 0.1 / fit.field.headwind_credit_share
    calm, wind = (float(fit.takeoff_ft(0.0, 15.0, 2500.0, w)[0]) for w in (0.0, counted))
    assert wind / calm == pytest.approx(0.81, abs=0.005)


@pytest.mark.published
def test_a_tenth_more_weight_in_the_fitted_form():
    """PHAK: +10 % weight gives +5 % speed, at least 9 % less acceleration, at least 21 % more take-off distance;
    landing distance +10 %."""
    fit = fitted_from_book(profile(), A)
    light, heavy = (fit.takeoff_ft(0.0, 15.0, lb, 0.0) for lb in (2200.0, 2420.0))
    assert all(float(b / a) >= 1.21 for a, b in zip(light, heavy, strict=True))
    assert float(heavy[0] / light[0]) <= 1.30
    landings = [fit.landing_ft(0.0, 15.0, lb, 0.0) for lb in (2200.0, 2420.0)]
    for a, b in zip(*landings, strict=True):
        assert float(b / a) == pytest.approx(1.10, abs=0.01)


@pytest.mark.published
def test_a_tenth_more_landing_speed_is_21_percent_more_roll():
    """PHAK, landing performance. Speed grows with the root of weight over density, roll in proportion to it."""
    fit = fitted_from_book(profile(), A)
    slow, fast = (float(fit.landing_ft(0.0, 15.0, lb, 0.0)[0]) for lb in (2000.0, 2000.0 * 1.1**2))
    assert fast / slow == pytest.approx(1.21, abs=0.012)


@pytest.mark.published
def test_take_off_scaling_of_the_fitted_form_against_a_printed_table():
    """PHAK rows above, another airplane: 1,000 ft more pressure altitude at 20 °C lengthens the roll by 1,230 / 1,115.

    Nothing is fitted to them. Tolerance 2 %: the aircraft differ.
    """
    fit = fitted_from_book(profile(), A)
    low, high = (float(fit.takeoff_ft(pa, 20.0, 2500.0, 0.0)[0]) for pa in (2000.0, 3000.0))
    assert high / low == pytest.approx(1230 / 1115, rel=0.02)


@pytest.mark.published
def test_landing_scaling_of_the_fitted_form_against_a_printed_table():
    """FAA landing table as above; scaling by density alone stays within 7 % and on the long side up to 7,500 ft."""
    p = profile(book__landing={"ground_roll_ft": 445.0, "over_50ft_ft": 1075.0})
    temperature = 15.0 - 1.98 * np.array([0.0, 2.5, 5.0, 7.5])
    roll, over = fitted_from_book(p, A).landing_ft(LANDING["pressure_altitude_ft"], temperature, 2500.0, 0.0)
    for found, printed in ((roll, LANDING["ground_roll_ft"]), (over, LANDING["over_50ft_ft"])):
        share = found / np.array(printed)
        assert share.min() >= 0.999
        assert share.max() <= 1.08


@pytest.mark.published
def test_cruise_row():
    tas, flow = handbook(cruise=CRUISE).with_power(0.65).cruise(6000.0, 20.0, 3700.0)
    assert [float(tas), float(flow)] == [161.0, 11.5]
    assert float(tas / flow) == pytest.approx(14.00, abs=0.005)
    assert float(400.0 / tas) == pytest.approx(2.484, abs=0.01)
    assert float(400.0 / tas * flow) == pytest.approx(28.57, abs=0.01)


@pytest.mark.published
def test_landing_rows_of_standard_temperature():
    for pa, roll, over in zip(LANDING["pressure_altitude_ft"], LANDING["ground_roll_ft"], LANDING["over_50ft_ft"],
                              strict=True):
        standard = 15.0 - 1.9812 * pa / 1000.0
        found = handbook(landing=LANDING).landing_ft(pa, standard, 3700.0, 0.0)
        assert [float(x) for x in found] == pytest.approx([roll, over], abs=0.05)


@pytest.mark.published
@pytest.mark.parametrize(("pa", "fahrenheit", "wind", "column", "expected"), [
    (5000.0, 41.0, 8.0, 1, 956.0),      # 1,195 less 10 % for each 4 kt
    (5000.0, 101.0, 0.0, 1, 1314.5),    # 10 % for 60 °F above standard
    (0.0, 59.0, 4.0, 0, 400.5),
])
def test_landing_notes(pa, fahrenheit, wind, column, expected):
    found = handbook(landing=LANDING).landing_ft(pa, (fahrenheit - 32.0) * F_TO_C, 3700.0, wind)[column]
    assert float(found) == pytest.approx(expected, abs=1.0)


@pytest.mark.published
def test_fuel_to_climb_above_standard_temperature():
    """Test question: from 4,000 ft, 21 °C, to 12,000 ft at 3,700 lb, with 16 lb for start, taxi and take-off: 46 lb."""
    _, gallons, _ = handbook(climb=CLIMB).climb(4000.0, 12_000.0, 14.0, 3700.0)
    assert float(gallons) * 6.0 + 16.0 == pytest.approx(46.0, abs=0.5)


@pytest.mark.published
def test_time_to_climb():
    hours, _, _ = handbook(climb=CLIMB).climb(8000.0, 12_000.0, 0.0, 3400.0)
    assert float(hours) * 60.0 == pytest.approx(6.0, abs=1e-9)
