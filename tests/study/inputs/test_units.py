"""Figures typed with their unit, and the common slips of YAML, each named."""

from __future__ import annotations

from pathlib import Path

import pytest

from missionsim.base.errors import InputError
from missionsim.study.inputs.files import TextFile, demo_folder
from missionsim.study.inputs.load_aircraft import load_profile
from missionsim.study.inputs.load_study import load_study
from missionsim.study.inputs.units import plain_figures, unit_hint, unit_of
from missionsim.study.inputs.yaml_lines import parse_yaml


@pytest.mark.parametrize(("key", "text", "value"), [
    ("fuel_usd_per_gal", "$6.00", 6.0), ("fuel_usd_per_gal", "6.00 $/gal", 6.0),
    ("fuel_usd_per_gal", "$5.20 a gallon", 5.2),
    ("power_share", "75%", 0.75), ("power_share", "75 percent", 0.75), ("own_money_share_per_year", "5%", 0.05),
    ("weight_lb", "195 lb", 195), ("weight_lb", "195 lbs", 195), ("max_takeoff_lb", "3,900", 3900),
    ("asking_price_usd", "$139,000", 139_000), ("asking_price_usd", "139k", 139_000),
    ("hangar_usd_per_month", "$250/month", 250),
    ("tas_kt", "140 kts", 140), ("fuel_flow_gph", "10.5 gph", 10.5), ("tbo_h", "2,000 h", 2000),
    ("reserve_min", "60 min", 60),
    ("pilot.weight_lb", "195 lb", 195), ("wing_span_ft", "36 ft", 36),
    # not its unit, or no figure: left for the model to refuse
    ("weight_lb", "88 kg", "88 kg"), ("tas_kt", "160 mph", "160 mph"), ("fuel_usd_per_gal", "$5/h", "$5/h"),
    ("weight_lb", "$195", "$195"), ("name", "195 lb", "195 lb"), ("weight_lb", "heavy", "heavy"), ("age", "46", "46"),
    ("weight_lb", "1,95", "1,95"),
])
def test_figures(key, text, value):
    assert plain_figures({key: text}) == {key: value}


def test_tables_and_ranges_have_the_unit_of_their_key():
    data = {"fuel_at": {"KHSI": "$5.20"}, "empty_weight_lb": {"low": "1,830 lb", "likely": 1850, "high": "1885"},
            "columns": {"bags_lb": "100 lb"}, "bags_lb": ["10 lb", "20 lb", "30 lb"]}
    assert plain_figures(data) == {
        "fuel_at": {"KHSI": 5.2}, "empty_weight_lb": {"low": 1830, "likely": 1850, "high": 1885},
        "columns": {"bags_lb": "100 lb"}, "bags_lb": [10, 20, 30]}


def test_another_unit_is_said_in_the_keys_own():
    assert unit_hint("weight_lb", "88 kg") == "88 kg is 194 lb"       # 88 x 2.20462 = 194.0
    assert unit_hint("tas_kt", "160 mph") == "160 mph is 139 kt"      # 160 x 0.868976 = 139.04
    assert unit_hint("reserve_min", "1 h") == "1 h is 60 min"
    assert unit_of("name") is None


def test_a_study_takes_them(tmp_path):
    path = tmp_path / "study.yaml"
    path.write_text(f"""extends: {demo_folder() / 'studies' / 'buyer.yaml'}
prices: {{fuel_usd_per_gal: $5.75}}
pilot: {{weight_lb: 201 lb, reserve_min: 45 min}}
""")
    study = load_study(path)
    assert study.spec.prices.fuel_usd_per_gal == 5.75
    assert (study.pilot.weight_lb, study.pilot.reserve_min) == (201, 45)
    path.write_text(path.read_text().replace("201 lb", "91 kg"))
    with pytest.raises(InputError, match=r"study.yaml:3: pilot.weight_lb: is '91 kg'.*91 kg is 200.6 lb"):
        load_study(path)


@pytest.mark.parametrize(("text", "line", "words"), [
    ("name: A\nyear:1978\nprice: 3\n", 2, "a blank is missing after the colon; accepted: year: 1978"),
    ("name: Hauler: with autopilot\n", 1, "a colon inside"),
    ("a:\n  b: 1\n\tc: 2\n", 3, "indented with a tab"),
])
def test_slips_of_syntax_are_named(text, line, words):
    with pytest.raises(InputError) as caught:
        parse_yaml(TextFile(Path("x.yaml"), "x.yaml", text, ""))
    assert caught.value.faults[0].line == line
    assert words in str(caught.value)


@pytest.fixture
def profile_text():
    return sorted((demo_folder() / "aircraft").glob("*.yaml"))[0].read_text(encoding="utf-8")


def refused(tmp_path, text):
    path = tmp_path / "x.yaml"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        load_profile(path, "x.yaml")
    return str(caught.value)


def test_slips_of_keys_are_named(tmp_path, profile_text):
    said = refused(tmp_path, profile_text + "\ntbo_h: 2000\n")
    assert "unknown key 'tbo_h' here; accepted: under `engine`" in said
    said = refused(tmp_path, profile_text.replace("prices: {", "prices: {hull_value_usd: 120,000, "))
    assert "the comma before 000 parts two keys" in said
    said = refused(tmp_path, profile_text.replace("prices: {", "prices: {hull_value_usd:120000, "))
    assert "a blank is missing after the colon" in said
