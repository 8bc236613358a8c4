"""Invented advertisements in many styles, each with what a person who knows the trade reads in it.

No such aircraft is for sale. Every figure was written down by hand before the program read the text. NOTHING marks a
trap: the text holds a word or number that must not be taken for that key.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

TODAY = date(2026, 2, 15)
NOTHING = object()
"""Expected where nothing may be said for a key."""

ENGINE_H, SINCE = "engine.hours_since_overhaul_h", "engine_hours_since"
PROP_H, AIRFRAME_H = "propeller.hours_since_overhaul_h", "state.airframe_hours_h"
USEFUL, PRICE = "weights.useful_load_lb", "prices.asking_price_usd"
ANNUAL, DAMAGE, LOGS = "state.months_since_annual", "state.damage_history", "state.logs_complete"
CRUISE, FLOW = "cruise_tas_kt", "cruise_fuel_flow_gph"
YEAR, SEATS, GEAR, HP, ENGINES = "identity.year", "identity.seats", "identity.gear", "engine.rated_hp", "engine.count"
APPROACH, AUTOPILOT, ADSB = "panel.approach", "panel.autopilot", "panel.ads_b"
HANGAR, FUEL, TBO = "state.hangared", "tanks.usable_gal", "engine.tbo_h"


@dataclass(frozen=True)
class Case:
    """An advertisement and what it says."""

    name: str
    text: str
    says: dict[str, Any]


REFERENCE = (
    Case("reference 1", "Four-seat retractable, 1978, 200 hp. TT 4,650, 1180 SMOH, 310 SPOH. NDH, all logs. IFR, WAAS/LPV, 2-axis AP "
         "w/ alt hold, ADS-B out. UL 905. Ann due 9/26. Hgrd. P/I 8/8. $124,900 OBO.",
         {YEAR: 1978, SEATS: 4, GEAR: "retractable", HP: 200, AIRFRAME_H: 4650, ENGINE_H: 1180, SINCE: "overhaul", PROP_H: 310,
          DAMAGE: "none", LOGS: True, "ifr": True, APPROACH: "lpv", AUTOPILOT: "two_axis", ADSB: True, USEFUL: 905,
          "annual_due": "2026-09", ANNUAL: 5, HANGAR: True, "paint_interior_of_10": (8, 8), PRICE: 124_900, "negotiable": True,
          ENGINES: NOTHING}),
    Case("reference 2", "FOR SALE: tired but honest 4 place fixed gear trainer-type, 150hp, 9800TT, run-out, steam gauges, VFR, mode C, "
         "out of annual since spring. Ferry permit possible. 29.5K as is.",
         {SEATS: 4, HP: 150, GEAR: "fixed", AIRFRAME_H: 9800, "engine_hours_of_tbo_share": (0.95, 1.0, 1.15),
          "panel.electronic_attitude": False, "ifr": False, "transponder": True, ADSB: NOTHING, "out_of_annual": True,
          PRICE: 29_500, ENGINE_H: NOTHING, "terms": "as is"}),
    Case("reference 3", "Light twin 2x180, 5210TT, L/R 450/462 SMOH, props 210 SNEW, C/R, boots & hot props (not known ice), radar inop, "
         "YD, 118 gal usable, MGW 3,900 EW 2,520. Fresh annual w/ sale. Ask 189k firm",
         {ENGINES: 2, HP: 180, AIRFRAME_H: 5210, ENGINE_H: (450, 462), PROP_H: 210, "propeller_hours_since": "new",
          "counter_rotating": True, "panel.ice_protection": "escape", "known_ice": False, "weather_radar": False,
          "panel.weather_on_board": NOTHING, "yaw_damper": True, FUEL: 118, "weights.max_takeoff_lb": 3900,
          "weights.empty_weight_lb": 2520, ANNUAL: (0, 0.5, 1), PRICE: 189_000, "negotiable": False}),
    Case("reference 4", "2x 310 hp pressurised cabin-class, 6,240 SNEW airframe, engines 880 & 210 since factory reman, FIKI, A/C, O2, "
         "3-axis coupled AP, glass retrofit 2021. Useful 2,150 lbs. Always hangared, dry climate. POA.",
         {ENGINES: 2, HP: 310, "identity.pressurised": True, AIRFRAME_H: 6240, ENGINE_H: (880, 210), SINCE: "factory remanufacture",
          "engine.overhaul_kind": "factory", "panel.ice_protection": "approved", "air_conditioning": True, "panel.oxygen": "fixed",
          AUTOPILOT: "two_axis", "yaw_damper": True, "panel.electronic_attitude": True, USEFUL: 2150, HANGAR: True,
          "state.coastal": False, PRICE: NOTHING, "price_on_request": True, YEAR: NOTHING}),
    Case("reference 5", "1/4 share, 180hp four seater C/S prop, based midlands, 62 l/h? no - 38 l/h, 115 kts, permit to 03/2027, TT 7,100 "
         "eng 640 hrs. \u00a314,500 + \u00a3130 pm, \u00a395/hr wet tacho.",
         {"share_for_sale": 0.25, HP: 180, SEATS: 4, "propeller.constant_speed": True, FLOW: 10.0, CRUISE: 115,
          "airworthiness_due": "2027-03", AIRFRAME_H: 7100, ENGINE_H: 640, SINCE: NOTHING, "share_price": 14_500, PRICE: NOTHING}),
    Case("reference 6", "Six-seat single, 300 h.p., fixed gear hauler. 3820 hrs total, 1,450 hrs on engine (TBO 1700), 40 since top. Large "
         "tires, VG kit, LR tanks 88 gal. Damage 1994, repaired, 337 in logs. $198,000",
         {SEATS: 6, HP: 300, GEAR: "fixed", AIRFRAME_H: 3820, ENGINE_H: 1450, TBO: 1700, "top_overhaul_h": 40, FUEL: 88,
          DAMAGE: "old_minor", PRICE: 198_000, "modification": "large tires", YEAR: NOTHING}),
    Case("reference 7", "LSA! 2019, 100hp, 412.6 TT, glass, AP, chute repack 5/28, useful 518, 115 kts on 5 gph, always hangared $109,500. "
         "Text only.",
         {"certificate": "light sport", YEAR: 2019, HP: 100, AIRFRAME_H: 412.6, ENGINE_H: 412.6, SINCE: "new",
          "panel.electronic_attitude": True, AUTOPILOT: "single_axis", "parachute_due": "2028-05", USEFUL: 518, CRUISE: 115, FLOW: 5,
          HANGAR: True, PRICE: 109_500}),
    Case("reference 8", "Modern composite 310 hp fixed gear, 2006, TTAE 1,985, plugs & mags done, TAS, FIKI, WAAS, dual screens, A/C. 178 "
         "KTAS @ 15.5. Payload w/ full fuel 515. Annual c/w 2/26. Reduced $389,000!",
         {YEAR: 2006, HP: 310, GEAR: "fixed", AIRFRAME_H: 1985, ENGINE_H: 1985, SINCE: "new", "traffic": True,
          "panel.ice_protection": "approved", APPROACH: "lpv", "panel.electronic_attitude": True, "air_conditioning": True,
          CRUISE: 178, FLOW: 15.5, "payload_full_fuel_lb": 515, USEFUL: NOTHING, "annual_done": "2026-02", ANNUAL: 0, PRICE: 389_000}),
    Case("reference 9", "Diesel 4-seat, 155 PS, Jet-A1, 1.310 h TT, Motor 1.310 h (TBR 2.100), IFR, ARC bis 11/2026, Zuladung 420 kg, Tank "
         "155 l, 270.000 EUR zzgl. MwSt.",
         {HP: 153, "engine.fuel": "jet_a", AIRFRAME_H: 1310, ENGINE_H: 1310, TBO: 2100, "ifr": True, "airworthiness_due": "2026-11",
          USEFUL: 926, FUEL: 40.9, "price_other_currency": (270_000, "EUR"), "tax": "to be added", PRICE: NOTHING}),
    Case("reference 10", "Single-engine turboprop, pressurized, 4,120 TTSN, 620 SHSI, trend mon., TAS+radar, RVSM, 260 kts true at FL270 "
         "burning 40 gph, SN 0217, N-reg, no known DH, logs digitized, $1.35M",
         {"turbine": True, "identity.pressurised": True, AIRFRAME_H: 4120, "hot_section_h": 620, ENGINE_H: 4120, "engine.monitor": True,
          "traffic": True, "panel.weather_on_board": True, CRUISE: 260, "cruise_level_ft": 27_000, FLOW: 40, "serial": "0217",
          DAMAGE: NOTHING, "logs_scanned": True, PRICE: 1_350_000}),
    Case("reference 11", "Retractable 4-pl 260 hp taildragger-free classic, mid-time engine, recent paint, 90 gal w/tips, cruise 185 mph, range "
         "1000 sm no reserve, missing logs before 1985. 84,000 or trade for fixed gear.",
         {SEATS: 4, HP: 260, GEAR: "retractable", "engine_hours_of_tbo_share": (0.35, 0.5, 0.65), FUEL: 90, CRUISE: 161,
          "book.range.range_nm": 869, LOGS: False, PRICE: 84_000, YEAR: NOTHING, ENGINE_H: NOTHING}),
    Case("reference 12", "Club trainer 2 seat 110hp, 12,400 hrs AF, 100 hrs SMOH, SOH 2yrs ago, 27 usable, 24mo P/S due 12/26, annual 4/26, "
         "NAV/COM, ILS, will consider SOH $38,500 SOH",
         {SEATS: 2, HP: 110, AIRFRAME_H: 12_400, ENGINE_H: 100, "engine.overhaul_year": 2024, FUEL: 27, "pitot_static_due": "2026-12",
          ANNUAL: 10, "panel.ils_receiver": True, PRICE: 38_500, "negotiable": True}),
)
"""Texts and fields of the trade's shorthand page, as seen early in 2026."""

FURTHER = (
    Case("telegraph", "1967 4 PLACE FIXED GEAR 150HP 5120TT 890SMOH 120STOH 300SPOH NDH LOGS COMPLETE ANNUAL 8/25 HANGARED VOR/ILS MODE C 44500",
         {YEAR: 1967, SEATS: 4, GEAR: "fixed", HP: 150, AIRFRAME_H: 5120, ENGINE_H: 890, "top_overhaul_h": 120, PROP_H: 300,
          DAMAGE: "none", LOGS: True, ANNUAL: 6, HANGAR: True, APPROACH: "ils", PRICE: 44_500}),
    Case("sentences", "I am selling my 1974 four seat retractable. Total time is 6,312 hours with 742 hours since a major overhaul done in 2014 by a "
         "field mechanic. The propeller was overhauled in 2019. Useful load is 982 pounds. It has a two-axis autopilot that works, a WAAS GPS, "
         "and ADS-B in and out. Last annual was completed in October 2025. Asking $89,000.",
         {YEAR: 1974, SEATS: 4, GEAR: "retractable", AIRFRAME_H: 6312, ENGINE_H: 742, SINCE: "overhaul", "engine.overhaul_year": 2014,
          "propeller.overhaul_year": 2019, USEFUL: 982, AUTOPILOT: "two_axis", APPROACH: "lpv", ADSB: True, ANNUAL: 4, PRICE: 89_000}),
    Case("list with colons", "Year: 1981\nTotal time: 3,940\nEngine: 1,210 SMOH\nPropeller: 210 SPOH\nSeats: 6\nHorsepower: 300 hp\nGear: fixed gear\n"
         "Useful load: 1,486 lbs\nFuel: 88 gal usable\nAutopilot: none\nPrice: $212,500",
         {YEAR: 1981, AIRFRAME_H: 3940, ENGINE_H: 1210, PROP_H: 210, SEATS: 6, HP: 300, GEAR: "fixed", USEFUL: 1486, FUEL: 88,
          AUTOPILOT: "none", PRICE: 212_500}),
    Case("tags first", "1979 Six seat retractable. TTAF 4880 SMOH 615 SPOH 615. TBO 1700. 285 hp. Useful 1,390. Cruises 160 kts at 14 gph. Engine "
         "overhauled 2017. $229,000 firm, no trades.",
         {YEAR: 1979, SEATS: 6, GEAR: "retractable", AIRFRAME_H: 4880, ENGINE_H: 615, PROP_H: 615, TBO: 1700, HP: 285, USEFUL: 1390,
          CRUISE: 160, FLOW: 14, "engine.overhaul_year": 2017, PRICE: 229_000, "negotiable": False}),
    Case("price reduced", "Price reduced from $150,000 to $139,900! 1982 retractable single, 2,980 TTSN, 210 SFRM, annual due 5/26, $18,000 spent on new "
         "avionics in 2023.",
         {PRICE: 139_900, YEAR: 1982, AIRFRAME_H: 2980, ENGINE_H: 210, SINCE: "factory remanufacture", "engine.overhaul_kind": "factory",
          "annual_due": "2026-05", ANNUAL: 9}),
    Case("call for price", "Call for price. 2x 260 twin, six seats, 5,640 TT, left engine 310 SMOH, right engine 1,240 SMOH, new props 2020. Hail damage "
         "2019 repaired. Weather radar, known ice, 3-axis autopilot.",
         {PRICE: NOTHING, "price_on_request": True, ENGINES: 2, HP: 260, SEATS: 6, AIRFRAME_H: 5640, ENGINE_H: (310, 1240),
          DAMAGE: "recent_major", "panel.weather_on_board": True, "panel.ice_protection": "approved", AUTOPILOT: "two_axis"}),
    Case("mph", "'65 four-place, 180 hp, true airspeed 135 mph, stalls at 55 mph, 50 gal, 3,870 TT, 1,940 SMOH of 2,000 TBO. 67K.",
         {YEAR: 1965, SEATS: 4, HP: 180, CRUISE: 117, "book.vs0_cas_kt": 48, FUEL: 50, AIRFRAME_H: 3870, ENGINE_H: 1940, TBO: 2000,
          PRICE: 67_000}),
    Case("metric", "Four seater, fixed undercarriage, 118 kW, 210 km/h, 30 l/h, empty 720 kg, MTOW 1150 kg, 190 litres usable, 2,100 hrs total, "
         "ARC to 06/2026. EUR 98.000 VB",
         {SEATS: 4, GEAR: "fixed", HP: 158, CRUISE: 113, FLOW: 7.9, "weights.empty_weight_lb": 1587, "weights.max_takeoff_lb": 2535,
          FUEL: 50.2, AIRFRAME_H: 2100, "airworthiness_due": "2026-06", "price_other_currency": (98_000, "EUR"), PRICE: NOTHING}),
    Case("payload is not useful load", "1998 six-place fixed gear, payload with full fuel 890 lbs, gross weight 3,600, useful load 1,420. TT 3,300; engine "
         "1,150 since new. Always hangared. $265,000",
         {YEAR: 1998, "payload_full_fuel_lb": 890, USEFUL: 1420, "weights.max_takeoff_lb": 3600, AIRFRAME_H: 3300, ENGINE_H: 1150,
          SINCE: "new", HANGAR: True, PRICE: 265_000}),
    Case("A and P", "Owned by an A&P/IA. 1970 tailwheel 2 seater, 115 hp, 3100 TT, 95 SMOH (2022), no autopilot, VFR only, metal prop 95 hrs. Hangar "
         "available. $42k obo",
         {YEAR: 1970, SEATS: 2, GEAR: "fixed", HP: 115, AIRFRAME_H: 3100, ENGINE_H: 95, "engine.overhaul_year": 2022, AUTOPILOT: "none",
          "ifr": False, PROP_H: 95, HANGAR: NOTHING, PRICE: 42_000, "negotiable": True}),
    Case("zero time", "1977 RG, 200 h.p., 0 SMOH by factory, new 3-blade prop, 7,250 TT, large baggage door, dual NAV/COM, glideslope, NKDH, missing "
         "first logbook. Mid 90s.",
         {YEAR: 1977, GEAR: "retractable", HP: 200, ENGINE_H: 0, "propeller.blades": 3, AIRFRAME_H: 7250, APPROACH: "ils", DAMAGE: NOTHING,
          LOGS: False, "asking_price_range": (94_000, 95_000, 96_000)}),
    Case("since top trap", "2,050 TT, 2,050 on engine since new, 12 STOH, all cylinders replaced. 1996. Fixed gear 160 hp. 118 kts @ 8.5 gph. UL 897#. "
         "WAAS capable but not installed. $118,750",
         {AIRFRAME_H: 2050, ENGINE_H: 2050, SINCE: "new", "top_overhaul_h": 12, YEAR: 1996, GEAR: "fixed", HP: 160, CRUISE: 118, FLOW: 8.5,
          USEFUL: 897, APPROACH: NOTHING, PRICE: 118_750}),
    Case("serial and tail", "N123ZZ, S/N 28-1145, 1972 single, 235 hp fixed gear, 4,410 TT, 1,002 SMOH, fresh annual, new paint 2018, interior 7/10. "
         "Asking 92,500.",
         {"registration": "N123ZZ", "serial": "28-1145", YEAR: 1972, HP: 235, AIRFRAME_H: 4410, ENGINE_H: 1002, ANNUAL: (0, 0.5, 1),
          PRICE: 92_500}),
    Case("ADS-B none", "No ADS-B, no autopilot, no damage history, no corrosion. 1959 four place retract, 225 hp, TTAF 5,005, TTE 2,210, SMOH 340. Shoulder "
         "harnesses. Oil analysis every change. 61,900 OBO",
         {ADSB: False, AUTOPILOT: "none", DAMAGE: "none", YEAR: 1959, GEAR: "retractable", HP: 225, AIRFRAME_H: 5005,
          "engine_total_h": 2210, ENGINE_H: 340, "panel.shoulder_belts": True, "corrosion": "none claimed", PRICE: 61_900}),
    Case("turbo", "Turbocharged six seat retractable, 1984, 310 hp, 1,050/1600 engine, useful load 1,455 lbs, 185 kts at FL200 burning 18 gph, built-in "
         "oxygen, engine monitor, hot prop, not FIKI. Priced at $299k.",
         {"engine.aspiration": "turbo", SEATS: 6, GEAR: "retractable", YEAR: 1984, HP: 310, ENGINE_H: 1050, TBO: 1600, USEFUL: 1455, CRUISE: 185,
          "cruise_level_ft": 20_000, FLOW: 18, "panel.oxygen": "fixed", "engine.monitor": True, "panel.ice_protection": "escape",
          PRICE: 299_000}),
    Case("annual month names", "1976 180 hp 4 seat fixed gear. Annual good through Nov 2026. 5,800 total time / 1,300 SMOH. ILS. Based in Kansas, hangared. $79,500",
         {"annual_due": "2026-11", ANNUAL: 3 + 0, AIRFRAME_H: 5800, ENGINE_H: 1300, APPROACH: "ils", HANGAR: True, PRICE: 79_500, YEAR: 1976}),
    Case("gear up", "1980 retractable, gear-up landing 1999 with new prop and engine teardown, 3,610 TT, 405 since teardown and overhaul, approach GPS, plain panel. "
         "$99,000",
         {YEAR: 1980, DAMAGE: "old_minor", AIRFRAME_H: 3610, APPROACH: "lnav", PRICE: 99_000}),
    Case("recent strike", "Prop strike in 2024, engine inspected, flying again. 2001 fixed gear 180 hp, 2,890 TT. C/L. Full IFR. $142,000",
         {DAMAGE: "recent_major", YEAR: 2001, GEAR: "fixed", HP: 180, AIRFRAME_H: 2890, LOGS: True, "ifr": True, PRICE: 142_000}),
    Case("minor damage", "Clean 1968 trainer, two seats, 100 hp, 6900 TT, 1450 SMOH, minor hangar rash 2023 repaired, wing leveler, mode C, comp 74/76/75/72. 28k",
         {YEAR: 1968, SEATS: 2, HP: 100, AIRFRAME_H: 6900, ENGINE_H: 1450, DAMAGE: "old_minor", AUTOPILOT: "single_axis",
          "engine.compression_psi_of_80": 72, PRICE: 28_000}),
    Case("compressions over 80", "Compressions 78/79/77/78/76/79 over 80. 1975 235 hp hauler, 4,950TT, 850 SMOH 2011, 84 gal, bladders new 2020, $110,000",
         {"engine.compression_psi_of_80": 76, YEAR: 1975, HP: 235, AIRFRAME_H: 4950, ENGINE_H: 850, "engine.overhaul_year": 2011, FUEL: 84,
          PRICE: 110_000}),
    Case("time left", "600 hours left to TBO (2000), 1969 180 hp, 4,200 hours, hangar kept, useful load 1,010 lb, cruise 120 kts. Asking $71,000 or best offer.",
         {TBO: 2000, YEAR: 1969, HP: 180, USEFUL: 1010, CRUISE: 120, PRICE: 71_000, "negotiable": True, "engine_hours_left_h": 600}),
    Case("hours of what", "Nice 1973 fixed gear four seater, 3,050 hours, 160 hp, always flown by one owner 100 hours a year, recent interior. $58,000.",
         {YEAR: 1973, AIRFRAME_H: 3050, HP: 160, SEATS: 4, ENGINE_H: NOTHING, "state.hours_flown_per_year_h": 100, PRICE: 58_000}),
    Case("crosswind and stall", "Demonstrated crosswind 17 kts, stall 49 kts, cruise 138 kts, 1,000 fpm climb, range 650 nm with reserve, ceiling 17,000. 2004, 230 hp "
         "fixed gear. 1,890 TTSN. $279,000",
         {CRUISE: 138, "book.vs0_cas_kt": 49, "book.climb_fpm": 1000, "book.range.range_nm": 650, "book.service_ceiling_ft": 17_000,
          YEAR: 2004, HP: 230, AIRFRAME_H: 1890, PRICE: 279_000}),
    Case("money traps", "Over $60,000 in upgrades! Hangar $250/mo transferable. Insured for $130,000. 1985 retractable, 3,020 TT / 1,260 SFOH, dry rate $85/hr "
         "to club members. Yours for $134,500.",
         {PRICE: 134_500, YEAR: 1985, AIRFRAME_H: 3020, ENGINE_H: 1260, SINCE: "factory overhaul", "engine.overhaul_kind": "factory"}),
    Case("half share", "Half interest in a 1978 turbo twin, 2 x 210 hp, 4,700 TT, engines 200/1100 SMOH, FIKI, $62,500 for the half. Monthly $340.",
         {"share_for_sale": 0.5, "share_price": 62_500, PRICE: NOTHING, YEAR: 1978, ENGINES: 2, HP: 210, ENGINE_H: (200, 1100),
          "engine.aspiration": "turbo", "panel.ice_protection": "approved"}),
    Case("on condition", "Engine on condition at 2,400 hrs since new, fixed gear, 1999, 2,400 TTAE, used for instruction, tied down, coastal. $68,000",
         {AIRFRAME_H: 2400, ENGINE_H: 2400, GEAR: "fixed", YEAR: 1999, HANGAR: False, "state.coastal": True, PRICE: 68_000}),
    Case("long range tanks", "1966 retract, 4 seats, 260 hp, 74 gallons main plus 20 gal tips, IFR GPS (non-WAAS), coupled autopilot, useful load 1,105 lb, 60 SMOH. "
         "Estate sale, $97,500.",
         {YEAR: 1966, SEATS: 4, HP: 260, FUEL: 74, APPROACH: "lnav", AUTOPILOT: "two_axis", USEFUL: 1105, ENGINE_H: 60, PRICE: 97_500}),
    Case("all capitals", "BEAUTIFUL 1983 PRESSURIZED SINGLE, SIX SEATS, 310 HP, RADAR, BOOTS, 4025 TT, 380 SFRM, 380 SPOH, USEFUL LOAD 1415, CRUISE 190 KTS @ "
         "FL220, ANNUAL COMPLETED JAN 2026, $389,000.",
         {YEAR: 1983, "identity.pressurised": True, SEATS: 6, HP: 310, "panel.weather_on_board": True, "panel.ice_protection": "escape",
          AIRFRAME_H: 4025, ENGINE_H: 380, SINCE: "factory remanufacture", PROP_H: 380, USEFUL: 1415, CRUISE: 190, "cruise_level_ft": 22_000,
          ANNUAL: 1, PRICE: 389_000}),
    Case("unpressurised turbine", "Unpressurized turboprop utility, 675 shp, ten seats, fixed gear, 8,000 lb gross, 3,480 lb useful, 6,120 TT, 1,150 SHSI, 325 gal, 48 gph. "
         "$1,650,000 plus tax",
         {"turbine": True, "identity.pressurised": False, HP: 675, SEATS: 10, GEAR: "fixed", "weights.max_takeoff_lb": 8000, USEFUL: 3480,
          AIRFRAME_H: 6120, "hot_section_h": 1150, FUEL: 325, FLOW: 48, PRICE: 1_650_000, "tax": "to be added"}),
    Case("home-built", "Experimental kit-built two seat, 2015, 180 hp fixed-pitch prop, 240 hrs TTAE, glass panel, autopilot, 165 KTAS at 8,000' 75% 9.5 gph, phase one "
         "flown off, builder logs. $135,000.",
         {"certificate": "experimental", SEATS: 2, YEAR: 2015, HP: 180, "propeller.constant_speed": False, AIRFRAME_H: 240, ENGINE_H: 240,
          "panel.electronic_attitude": True, AUTOPILOT: "single_axis", CRUISE: 165, "cruise_level_ft": 8000, "cruise_power_share": 0.75,
          FLOW: 9.5, PRICE: 135_000}),
    Case("two speeds", "Cruise 145 kts at 65% and 155 kts at 75%, 12.5 gph. 1971 retractable, 230 hp, TT 5,560, E 720 SMOH, P 720 SPOH. $87,500 neg.",
         {CRUISE: 145, FLOW: 12.5, YEAR: 1971, HP: 230, AIRFRAME_H: 5560, ENGINE_H: 720, PROP_H: 720, PRICE: 87_500}),
    Case("slashed tags", "1986 4-seat, 3300/950 TT/SMOH, prop 210 since new, autopilot inop, ADS-B out, annual 2/26, $125k",
         {YEAR: 1986, SEATS: 4, AIRFRAME_H: 3300, ENGINE_H: 950, PROP_H: 210, "propeller_hours_since": "new", AUTOPILOT: "single_axis",
          "panel.autopilot_works": False, ADSB: True, ANNUAL: "unknown", PRICE: 125_000}),
    Case("club newsletter", "Members! Our trusty 4-seater (160 hp, 1984) goes to a new home: airframe 11,050 hours, engine 1,410 hours since factory overhaul (TBO 2,000), "
         "always maintained by the club, 43 gal usable, useful load 915 lb. $72,900 or nearest offer.",
         {SEATS: 4, HP: 160, YEAR: 1984, AIRFRAME_H: 11_050, ENGINE_H: 1410, SINCE: "factory overhaul", TBO: 2000, FUEL: 43, USEFUL: 915,
          PRICE: 72_900}),
    Case("years all over", "New windows 2012, paint 2015, leather 2017, engine overhauled 2013 (now 480 SMOH), built 1964, 5,200 TT. 250 hp retractable. New tanks 2021. $76,000",
         {YEAR: 1964, "engine.overhaul_year": 2013, ENGINE_H: 480, AIRFRAME_H: 5200, HP: 250, GEAR: "retractable", PRICE: 76_000}),
    Case("annual due slash", "Annual due 5/26. 1990 turbo six-seater, six seat club, intercooler, 285 hp, 3,480 TT, 905 SMOH, fuel flow, deiced prop, LPV. 219900 USD",
         {"annual_due": "2026-05", ANNUAL: 9, YEAR: 1990, SEATS: 6, "engine.aspiration": "turbo", HP: 285, AIRFRAME_H: 3480, ENGINE_H: 905,
          APPROACH: "lpv", PRICE: 219_900}),
    Case("low time", "Low time 1979 four place! 1,950 total hours, low time engine, 160 hp, VOR, two owners, hangared all its life. $95,000 firm.",
         {YEAR: 1979, SEATS: 4, AIRFRAME_H: 1950, HP: 160, "engine_hours_of_tbo_share": (0.02, 0.12, 0.25), HANGAR: True, APPROACH: "vor",
          PRICE: 95_000, ENGINE_H: NOTHING}),
    Case("approximately", "approx 5200 hours total, approx. 900 SMOH, about 84 gallons usable, UL about 1,150 lbs, 1968, 260 hp retract. Around $88,000.",
         {AIRFRAME_H: 5200, ENGINE_H: 900, FUEL: 84, USEFUL: 1150, YEAR: 1968, HP: 260, PRICE: 88_000}),
    Case("German", "Viersitzer, Bj. 1985, 180 PS, 4.230 h TT, Motor 640 h, VFR, Zuladung 410 kg, 119.000 EUR",
         {YEAR: 1985, HP: 178, AIRFRAME_H: 4230, ENGINE_H: 640, "ifr": False, USEFUL: 904, "price_other_currency": (119_000, "EUR"),
          PRICE: NOTHING}),
    Case("nothing said", "Lovely old aeroplane. Flies straight. Must see. Serious buyers only.",
         {PRICE: NOTHING, ENGINE_H: NOTHING, AIRFRAME_H: NOTHING, YEAR: NOTHING, HP: NOTHING}),
)

SECOND = (
    Case("bullets", "* 1975 four place retract\n* 5,210 hours total time\n* 1,480 hours since factory remanufactured engine (2001)\n* 3-bladed propeller, 400 hours\n"
         "* Useful: 1,060 lb\n* 64 gal (60 usable)\n* Complete logs since new\n* Dual ILS\n* Asking: 84.9k",
         {YEAR: 1975, SEATS: 4, GEAR: "retractable", AIRFRAME_H: 5210, ENGINE_H: 1480, SINCE: "factory remanufacture",
          "engine.overhaul_year": 2001, "propeller.blades": 3, PROP_H: 400, USEFUL: 1060, FUEL: 60, LOGS: True, APPROACH: "ils",
          PRICE: 84_900}),
    Case("radio talk", "Selling my 172 hour per year commuter: 2010 glass four seater, 180hp, 1,722.4 hobbs, original engine, WAAS, A/P w/ altitude hold, "
         "airbags, 2 owners, no accidents ever, annual done 11/25. 289,000 USD.",
         {YEAR: 2010, SEATS: 4, HP: 180, "meter_h": 1722.4, APPROACH: "lpv", AUTOPILOT: "two_axis", "panel.shoulder_belts": True,
          DAMAGE: "none", ANNUAL: 3, PRICE: 289_000, "state.hours_flown_per_year_h": 172}),
    Case("useful load vs payload", "Full fuel payload is 640 lb in this 1,150 lb useful load machine. 2x200 hp, 92 gal, 1,320 lb payload with half tanks. $179,000.",
         {"payload_full_fuel_lb": 640, USEFUL: 1150, ENGINES: 2, HP: 200, FUEL: 92, PRICE: 179_000}),
    Case("left right words", "Engines: Left 1,210 SMOH / Right 340 SMOH. Props: 340 since overhaul. 1973 twin, 5,980 AFTT, six seats, boots, radar. Offers around $95,000.",
         {ENGINE_H: (1210, 340), PROP_H: 340, YEAR: 1973, ENGINES: 2, AIRFRAME_H: 5980, SEATS: 6, "panel.ice_protection": "escape",
          "panel.weather_on_board": True, PRICE: 95_000}),
    Case("overhaul by year only", "Engine majored in 2008 by a shop, prop overhauled 2008, 1964 two-seat taildragger, 100 hp, 2,950 TT, fabric 2016. Asking $34,500.",
         {"engine.overhaul_year": 2008, "propeller.overhaul_year": 2008, YEAR: 1964, SEATS: 2, HP: 100, AIRFRAME_H: 2950, PRICE: 34_500,
          ENGINE_H: NOTHING}),
    Case("range in miles", "Go 900 miles with reserves at 170 mph true on 12 gallons per hour! 1962 four-seat retractable 250 hp. 4,100 TT, 600 SMOH, 300 SPOH.",
         {CRUISE: 148, FLOW: 12, YEAR: 1962, SEATS: 4, GEAR: "retractable", HP: 250, AIRFRAME_H: 4100, ENGINE_H: 600, PROP_H: 300,
          PRICE: NOTHING}),
    Case("damage never", "Never damaged, never trained in, never tied outside. Hangared since 1995. 1995 six place fixed gear 300 hp. 2,222 hours TTSN, 722 SFRM. $310,000",
         {DAMAGE: "none", HANGAR: True, YEAR: 1995, SEATS: 6, AIRFRAME_H: 2222, ENGINE_H: 722, PRICE: 310_000}),
    Case("money in words", "Asking one price only: $1.15 million. 2014 turboprop single, pressurized, six seats, 1,480 TTAF, 1,480 SNEW, FIKI, radar.",
         {PRICE: 1_150_000, YEAR: 2014, "turbine": True, SEATS: 6, AIRFRAME_H: 1480, ENGINE_H: 1480, "panel.ice_protection": "approved"}),
    Case("annual numbers", "Annual: 03/15/2025. Pitot static 04/2024. TT: 3412 - SMOH: 1012 - SPOH: 512. 1978 | 180 HP | 4 seats | fixed gear | $99,900",
         {ANNUAL: 11, "pitot_static_due": "2024-04", AIRFRAME_H: 3412, ENGINE_H: 1012, PROP_H: 512, YEAR: 1978, HP: 180, SEATS: 4,
          GEAR: "fixed", PRICE: 99_900}),
    Case("lean and mean", "Balanced injectors, runs LOP at 145 kts on 9.8 gph, 1979 200 hp retract, engine monitor with fuel flow, 980 lbs useful, TTAF 3777, "
         "engine 777 SMOH by field shop 2016. 105k or best.",
         {"engine.matched_injectors": True, "engine.lean_of_peak": True, CRUISE: 145, FLOW: 9.8, YEAR: 1979, HP: 200, GEAR: "retractable",
          "engine.monitor": True, USEFUL: 980, AIRFRAME_H: 3777, ENGINE_H: 777, "engine.overhaul_year": 2016, PRICE: 105_000}),
    Case("both engines", "1969 light twin, 160 hp each, both engines 1,150 SMOH, 6,700 TT, new glass, single axis autopilot, useful load 1,310, 84 gal, no known damage. $68,000",
         {YEAR: 1969, ENGINES: 2, HP: 160, ENGINE_H: 1150, AIRFRAME_H: 6700, "panel.electronic_attitude": True, AUTOPILOT: "single_axis",
          USEFUL: 1310, FUEL: 84, DAMAGE: NOTHING, PRICE: 68_000}),
    Case("question style", "Looking for a hauler? 230 hp, 1,240 lb useful, 79 gal, 135 knots. Always in a hangar? Yes! Damage? None. Logs? All. Annual? April. TT 3900. Engine 300. $164,000",
         {HP: 230, USEFUL: 1240, FUEL: 79, CRUISE: 135, AIRFRAME_H: 3900, ENGINE_H: 300, PRICE: 164_000}),
)
"""Written after the patterns had been mended for the others, and read once before any further mending."""

CASES = REFERENCE + FURTHER + SECOND

Verdict = Literal["hit", "miss", "wrong"]


def verdict(expected: Any, said: Any) -> Verdict:
    """Return whether a figure was found, missed, or found wrong."""
    if expected is NOTHING:
        return "hit" if said is None else "wrong"
    if said is None:
        return "miss"
    return "hit" if _same(expected, said) else "wrong"


def _same(expected: Any, said: Any) -> bool:
    if isinstance(expected, tuple):
        return isinstance(said, tuple) and len(said) == len(expected) and all(map(_same, expected, said))
    if isinstance(expected, bool | str):
        return bool(expected == said)
    return isinstance(said, int | float) and not isinstance(said, bool) and abs(said - expected) <= 0.01 * abs(expected) + 1e-9
