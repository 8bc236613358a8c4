"""Invented advertisements in further layouts, each with what a person who knows the trade reads in it.

Written before the patterns were looked at; kept here are those in which something had been missed or read wrong.
"""

from __future__ import annotations

from advertisement_cases import (
    ADSB,
    AIRFRAME_H,
    ANNUAL,
    APPROACH,
    AUTOPILOT,
    CRUISE,
    DAMAGE,
    ENGINE_H,
    ENGINES,
    FLOW,
    FUEL,
    GEAR,
    HANGAR,
    HP,
    NOTHING,
    PRICE,
    PROP_H,
    SEATS,
    SINCE,
    TBO,
    USEFUL,
    YEAR,
    Case,
)

LAYOUTS = (
    Case("bracket tbo",
         "1978 4 seat retract 200hp. TT 4650, 1180 SMOH (2000), 310 SPOH. NDH. $124,900 OBO",
         {YEAR: 1978, SEATS: 4, GEAR: "retractable", HP: 200, AIRFRAME_H: 4650, ENGINE_H: 1180, TBO: 2000,
          "engine.overhaul_year": NOTHING, PROP_H: 310, DAMAGE: "none", PRICE: 124900, "negotiable": True}),
    Case("bracket tbo no smoh",
         "1966, 150 hp, 5,320 TT, engine 640 h (1800), 4 seats, fixed gear, 48,500",
         {YEAR: 1966, HP: 150, AIRFRAME_H: 5320, ENGINE_H: 640, TBO: 1800, SEATS: 4, GEAR: "fixed",
          "engine.overhaul_year": NOTHING, PRICE: 48500}),
    Case("bracket year",
         "1974 fixed gear, 180 hp, 3,900 TT, 1,120 SMOH (2004), prop 300 (2018). 88k",
         {YEAR: 1974, HP: 180, AIRFRAME_H: 3900, ENGINE_H: 1120, "engine.overhaul_year": 2004, PROP_H: 300,
          "propeller.overhaul_year": 2018, PRICE: 88000, TBO: NOTHING}),
    Case("bracket month year",
         "Engine 415 hrs SMOH (06/2017), prop 415 SPOH (6/17), airframe 6,105 hrs. 1972 hauler 235hp four "
         "seats. Annual 10/25. $119,000",
         {ENGINE_H: 415, "engine.overhaul_year": 2017, PROP_H: 415, "propeller.overhaul_year": 2017,
          AIRFRAME_H: 6105, YEAR: 1972, HP: 235, SEATS: 4, ANNUAL: 4, PRICE: 119000}),
    Case("hours of interval",
         "Engine time 1,640 of 2,000 hours, propeller 640 of 2,400 hours. Airframe 7,820. Built 1979. 160 "
         "hp, fixed gear, 4 seats. Price 62,900.",
         {ENGINE_H: 1640, TBO: 2000, PROP_H: 640, AIRFRAME_H: 7820, YEAR: 1979, HP: 160, GEAR: "fixed", SEATS: 4,
          PRICE: 62900}),
    Case("smoh 1985 hours",
         "1971 four place, TT 5,600, SMOH 1985, 180 hp, TBO 2000, runout priced accordingly $45,000",
         {YEAR: 1971, SEATS: 4, AIRFRAME_H: 5600, ENGINE_H: 1985, TBO: 2000, HP: 180, PRICE: 45000}),
    Case("broker long",
         "Offered on behalf of its second owner, this 1999 six-seat turbocharged retractable has been "
         "hangared in Arizona for the last eleven years. The airframe shows 2,846 hours since new; the "
         "engine was exchanged for a factory remanufactured unit in March 2015 and has accumulated 611 "
         "hours since. A new three-blade propeller was fitted at the same time. Book useful load is 1,388 "
         "pounds with the optional 106-gallon (102 usable) tanks. Expect 190 knots true at flight level 200 "
         "on 19 gallons per hour. The annual inspection was signed off in December 2025. There is no "
         "history of damage. Offered at $369,500.",
         {YEAR: 1999, SEATS: 6, "engine.aspiration": "turbo", GEAR: "retractable", HANGAR: True, AIRFRAME_H: 2846,
          ENGINE_H: 611, SINCE: "factory remanufacture", "engine.overhaul_year": 2015, "propeller.blades": 3,
          USEFUL: 1388, FUEL: 102, CRUISE: 190, "cruise_level_ft": 20000, FLOW: 19, ANNUAL: 2, DAMAGE: "none",
          PRICE: 369500}),
    Case("twin LE RE",
         "TWIN 2 X 285HP 1981, AFTT 4,877, LE 977 SFRM, RE 412 SMOH, L prop 120, R prop 412. 6 SEATS. FIKI. "
         "$259K",
         {ENGINES: 2, HP: 285, YEAR: 1981, AIRFRAME_H: 4877, ENGINE_H: (977, 412), PROP_H: (120, 412), SEATS: 6,
          "panel.ice_protection": "approved", PRICE: 259000}),
    Case("twin # engines",
         "#1 engine 655 SMOH, #2 engine 1,320 SMOH, #1 prop 655 SPOH, #2 prop 90 SPOH. 1974 twin six place "
         "260 hp per side. 6,011 TT. Known ice. 138 usable. Reduced to $134,900 from $144,900.",
         {ENGINE_H: (655, 1320), PROP_H: (655, 90), YEAR: 1974, ENGINES: 2, SEATS: 6, HP: 260, AIRFRAME_H: 6011,
          "panel.ice_protection": "approved", FUEL: 138, PRICE: 134900}),
    Case("twin and words",
         "Both engines overhauled 2018 with 290 hours on each. 1979 twin, 4,950 hours total, 2 x 310 hp, "
         "pressurized. Offers over $199,000 invited.",
         {"engine.overhaul_year": 2018, ENGINE_H: 290, ENGINES: 2, YEAR: 1979, AIRFRAME_H: 4950, HP: 310,
          "identity.pressurised": True, PRICE: 199000}),
    Case("fuel per side",
         "1960 four place, 225 hp retract, 2 x 25 gal tanks plus 20 gal aux, 5,001 TT, 1,001 SMOH, 44K",
         {YEAR: 1960, SEATS: 4, HP: 225, GEAR: "retractable", ENGINES: NOTHING, AIRFRAME_H: 5001, ENGINE_H: 1001,
          PRICE: 44000, FUEL: 50}),
    Case("typos",
         "1976 fixed gaer 4 seat, 3450 TTAF, 1200 SMHO, anual due 7/26, useful laod 960 lbs, hangered, no "
         "damage histroy, $76,000",
         {YEAR: 1976, SEATS: 4, AIRFRAME_H: 3450, "annual_due": "2026-07", HANGAR: True, PRICE: 76000,
          ENGINE_H: 1200, USEFUL: 960, GEAR: "fixed"}),
    Case("needs",
         "Project: 1964 4 seat retract 260 hp, needs annual, needs paint, needs prop overhaul. Engine runs "
         "strong 1,700 SMOH. 4,900 TT. No ADS-B. $32,000 as is where is.",
         {YEAR: 1964, SEATS: 4, GEAR: "retractable", HP: 260, "out_of_annual": True, ENGINE_H: 1700,
          AIRFRAME_H: 4900, ADSB: False, PRICE: 32000, PROP_H: NOTHING}),
    Case("annual iso",
         "Annual signed 2025-11-03. IFR cert 2025-04. 1970 4 place 200 hp retract. TTAF:4321 SMOH:321. "
         "$87,700",
         {ANNUAL: 3, "annual_done": "2025-11", YEAR: 1970, SEATS: 4, HP: 200, GEAR: "retractable", AIRFRAME_H: 4321,
          ENGINE_H: 321, PRICE: 87700}),
    Case("damage detail",
         "1979 RG 200hp. Damage history: 1988 gear collapse, all logged and repaired, 2005 minor wingtip. "
         "4,300TT 900SMOH 2012. $74,500",
         {YEAR: 1979, GEAR: "retractable", HP: 200, DAMAGE: "old_minor", AIRFRAME_H: 4300, ENGINE_H: 900,
          "engine.overhaul_year": 2012, PRICE: 74500}),
    Case("share 25 percent",
         "25% share of 2004 glass four seater for $42,000, four owners total, $250 a month. 1,540 TTAF. "
         "Engine same.",
         {"share_for_sale": 0.25, "share_price": 42000, PRICE: NOTHING, YEAR: 2004,
          "panel.electronic_attitude": True, SEATS: 4, AIRFRAME_H: 1540}),
    Case("price invested",
         "Spent over $45k on panel in 2022, $12,000 on interior, engine $38,000 in 2019 with 240 hours "
         "since. Asking $168,000. 1981 fixed gear 230 hp 4 seat, 4,040 TT.",
         {PRICE: 168000, ENGINE_H: 240, YEAR: 1981, GEAR: "fixed", HP: 230, SEATS: 4, AIRFRAME_H: 4040}),
    Case("price spaces",
         "1 250 000 USD. Single engine turboprop 2008, 2 950 hours total, 450 SHSI, 850 shp.",
         {PRICE: 1250000, "turbine": True, YEAR: 2008, AIRFRAME_H: 2950, "hot_section_h": 450, HP: 850}),
    Case("price thousands word",
         "Asking 145 thousand. 1979 RG 235 hp 4 seats, 3,600 hours TT, 900 on a factory reman, 88 gal.",
         {PRICE: 145000, YEAR: 1979, GEAR: "retractable", HP: 235, SEATS: 4, AIRFRAME_H: 3600, ENGINE_H: 900,
          SINCE: "factory remanufacture", FUEL: 88}),
    Case("ap none words",
         "autopilot removed, WAAS removed for upgrade, currently VFR. 1968 180hp. 3,222TT. $58,000",
         {AUTOPILOT: "none", APPROACH: "none", "ifr": False, YEAR: 1968, HP: 180, AIRFRAME_H: 3222, PRICE: 58000}),
    Case("deice inop",
         "Boots removed, alcohol prop, heated pitot, known-ice approval NOT included. 1972 twin 2x250, "
         "6,500 TT, 800/820 SMOH. $99k",
         {"panel.ice_protection": "escape", YEAR: 1972, ENGINES: 2, HP: 250, AIRFRAME_H: 6500, ENGINE_H: (800, 820),
          PRICE: 99000}),
    Case("weeping wing",
         "Weeping wing ice protection (inadvertent), 2005 composite, 310 hp, 1,910 TT/SNEW, TBO 2000, "
         "useful 1,090, FF payload 604. Air conditioned. $349,000",
         {"panel.ice_protection": "escape", YEAR: 2005, HP: 310, AIRFRAME_H: 1910, ENGINE_H: 1910, TBO: 2000,
          USEFUL: 1090, "payload_full_fuel_lb": 604, "air_conditioning": True, PRICE: 349000}),
    Case("weights list",
         "Gross: 3,800 lbs. Empty: 2,412 lbs. Useful: 1,388 lbs. Zero fuel 3,500. Landing weight 3,600. "
         "1977 six place turbo RG 285hp $159,900",
         {"weights.max_takeoff_lb": 3800, "weights.empty_weight_lb": 2412, USEFUL: 1388, YEAR: 1977, SEATS: 6,
          "engine.aspiration": "turbo", GEAR: "retractable", HP: 285, PRICE: 159900}),
    Case("weights increased",
         "Gross weight increase STC to 2,550 lbs (was 2,400). Empty weight 1,489. 180 hp conversion from "
         "150. 1966 fixed gear. 4,888 TT, 388 SMOH. $82k",
         {"weights.max_takeoff_lb": 2550, "weights.empty_weight_lb": 1489, HP: 180, YEAR: 1966, GEAR: "fixed",
          AIRFRAME_H: 4888, ENGINE_H: 388, PRICE: 82000}),
    Case("useful kg",
         "Useful load 402 kg, MTOM 1157 kg, fuel 200 ltr, cruise 222 km/h, 36 l/hr. 1990, four seats. TT "
         "5.480 hrs, engine 1.180 hrs (TBO 2.000). 89.500 EUR + VAT",
         {USEFUL: 886, "weights.max_takeoff_lb": 2551, FUEL: 52.8, CRUISE: 120, FLOW: 9.5, YEAR: 1990, SEATS: 4,
          AIRFRAME_H: 5480, ENGINE_H: 1180, TBO: 2000, "price_other_currency": (89500, "EUR"), PRICE: NOTHING}),
    Case("cylinders",
         "6 new cylinders at 900 hrs SMOH in 2020, 1,240 SMOH now. 1978 285 hp six seat RG. 3,980 TTAF. "
         "$179,000",
         {ENGINE_H: 1240, YEAR: 1978, HP: 285, SEATS: 6, GEAR: "retractable", AIRFRAME_H: 3980, PRICE: 179000}),
    Case("sfrm sfoh sn",
         "700 SFREM 2016; 300 SNEW 3-blade prop; 6,400 TT. 1976 300hp six seats fixed. Asking $225K, bring "
         "offers",
         {ENGINE_H: 700, SINCE: "factory remanufacture", "engine.overhaul_year": 2016, PROP_H: 300,
          "propeller_hours_since": "new", "propeller.blades": 3, AIRFRAME_H: 6400, YEAR: 1976, HP: 300, SEATS: 6,
          PRICE: 225000}),
    Case("owner flown",
         "I fly it 60-80 hours a year, 3 owners since new, 24 years with me. 1971 4 seat 180 hp. 3,060 "
         "total, 960 SMOH done 1998. Open to offers near 65k.",
         {YEAR: 1971, SEATS: 4, HP: 180, AIRFRAME_H: 3060, ENGINE_H: 960, "engine.overhaul_year": 1998, PRICE: 65000,
          "state.hours_flown_per_year_h": (60, 70, 80)}),
    Case("model year 2 digit",
         "77 RG four place 200HP 4100TT 300 SMOH 12/19 P&I 7/8 ADSB WAAS AP ANN 11/25 UL 998 99.9K",
         {YEAR: 1977, GEAR: "retractable", SEATS: 4, HP: 200, AIRFRAME_H: 4100, ENGINE_H: 300,
          "engine.overhaul_year": 2019, ADSB: True, APPROACH: "lpv", ANNUAL: 3, USEFUL: 998, PRICE: 99900}),
    Case("runout",
         "Run-out engine (2,150 SMOH, TBO 2000), 1970 4 seats 180 hp, core value. TT 6,050. Prop 1,200 "
         "since OH in 1999. $39,900",
         {ENGINE_H: 2150, TBO: 2000, YEAR: 1970, SEATS: 4, HP: 180, AIRFRAME_H: 6050, PROP_H: 1200,
          "propeller.overhaul_year": 1999, PRICE: 39900}),
    Case("table pipes",
         "Total Time | 3,510\nSMOH | 610 (2013)\nSPOH | 110\nYear | 1976\nSeats | 4\nUseful Load (lbs) | "
         "1,044\nFuel (usable gal) | 60\nCruise (ktas) | 143\nAnnual Due | 06/30/2026\nPrice (USD) | 119,900",
         {AIRFRAME_H: 3510, ENGINE_H: 610, "engine.overhaul_year": 2013, PROP_H: 110, YEAR: 1976, SEATS: 4,
          USEFUL: 1044, FUEL: 60, CRUISE: 143, "annual_due": "2026-06", PRICE: 119900}),
    Case("labels with units after",
         "AIRFRAME TT (HRS): 2,710\nENGINE SMOH (HRS): 210\nPROP SPOH (HRS): 210\nMAX GROSS WEIGHT (LBS): "
         "2,950\nEMPTY WEIGHT (LBS): 1,794\nFUEL (GAL): 79\nPRICE: USD 149,000\nYEAR: 1986\nHP: 230",
         {AIRFRAME_H: 2710, ENGINE_H: 210, PROP_H: 210, "weights.max_takeoff_lb": 2950,
          "weights.empty_weight_lb": 1794, FUEL: 79, PRICE: 149000, YEAR: 1986, HP: 230}),
    Case("hp two engines words",
         "Twin engined six seater with 2 250 hp engines from 1970, total hours 5,770, left 470 and right "
         "1,370 hours since overhaul, 120 gallons, heated props only. Asking price: 118 000 $.",
         {ENGINES: 2, HP: 250, SEATS: 6, AIRFRAME_H: 5770, ENGINE_H: (470, 1370), FUEL: 120,
          "panel.ice_protection": "escape", PRICE: 118000}),
    Case("tsmo words",
         "1,180 hours since overhaul of a recommended 2,000. 1978 4-seat RG 200hp, airframe total 4,650.5 "
         "hours. Cruise about 140 knots at 10.2 gallons an hour. $115K",
         {ENGINE_H: 1180, TBO: 2000, YEAR: 1978, SEATS: 4, GEAR: "retractable", HP: 200, AIRFRAME_H: 4650.5,
          CRUISE: 140, FLOW: 10.2, PRICE: 115000}),
    Case("slash tbo short",
         "SMOH 1180/2000, SPOH 310/2400, TT 4650, 1978, 200 HP RG, 4 seats, 119000 $",
         {ENGINE_H: 1180, TBO: 2000, PROP_H: 310, AIRFRAME_H: 4650, YEAR: 1978, HP: 200, GEAR: "retractable",
          SEATS: 4, PRICE: 119000, ENGINES: NOTHING}),
    Case("brackets for both",
         "Engine: 300 SMOH (2010), Prop: 300 SPOH (2010), Airframe: 4,120 TT, Year 1965, 230 HP, Price "
         "$89,900, Useful 1,180 lbs, Usable Fuel 79 gal",
         {ENGINE_H: 300, "engine.overhaul_year": 2010, PROP_H: 300, "propeller.overhaul_year": 2010,
          AIRFRAME_H: 4120, YEAR: 1965, HP: 230, PRICE: 89900, USEFUL: 1180, FUEL: 79}),
    Case("labels and values on lines of their own",
         "Total Time\n3,920\nEngine SMOH\n1,120\nProp SPOH\n220\nYear\n1980\nSeats\n4\nPrice\n$112,000\n",
         {AIRFRAME_H: 3920, ENGINE_H: 1120, PROP_H: 220, YEAR: 1980, SEATS: 4, PRICE: 112000}),
    Case("date before hours",
         "6/2014 overhaul, 512 hours since. 1977 180 hp four place fixed gear with 5,512 on the airframe. "
         "$94,500",
         {ENGINE_H: 512, "engine.overhaul_year": 2014, YEAR: 1977, HP: 180, SEATS: 4, AIRFRAME_H: 5512, PRICE: 94500}),
    Case("letters for sides",
         "Twin: 1980, 2 x 210 turbo, TT 3,950, L eng 1,100 SMOH R eng 250 SMOH, L prop 250 R prop 250, KI, "
         "radar, 120 gals usable, $149,900",
         {ENGINES: 2, YEAR: 1980, HP: 210, "engine.aspiration": "turbo", AIRFRAME_H: 3950, ENGINE_H: (1100, 250),
          PROP_H: (250, 250), FUEL: 120, "panel.ice_protection": "approved", "panel.weather_on_board": True,
          PRICE: 149900}),
    Case("overhaul year in the sentence before",
         "1970 trainer, 2 seats, 100hp. Flown weekly. Engine overhauled 1998, 1,010 hrs since. TT 7,400. "
         "Hail damaged wings 2016, reskinned. VOR only. $26,900 OBO. Call 402-555-0100.",
         {YEAR: 1970, SEATS: 2, HP: 100, "engine.overhaul_year": 1998, ENGINE_H: 1010, AIRFRAME_H: 7400,
          DAMAGE: "recent_major", PRICE: 26900}),
    Case("fresh annual with its month",
         "fresh annual 1/26, fresh IFR 1/26, fresh paint 2021, low time 1,100 TT, 1,100 SNEW engine, 1999, "
         "160hp 4 seat fixed. Asking 159.9K",
         {ANNUAL: 1, AIRFRAME_H: 1100, ENGINE_H: 1100, SINCE: "new", YEAR: 1999, HP: 160, SEATS: 4, PRICE: 159900}),
    Case("power before and after",
         "2,400 lb gross, 1,389 empty, 1,011 useful. 48 gal. 118 kt. 1971. 150hp upgraded to 180hp in 2005, "
         "612 since. 4,800 TT. Trades considered up. $77,000",
         {"weights.max_takeoff_lb": 2400, "weights.empty_weight_lb": 1389, USEFUL: 1011, FUEL: 48, CRUISE: 118,
          YEAR: 1971, HP: 180, AIRFRAME_H: 4800, PRICE: 77000}),
    Case("stars and meters",
         "* TTAF: 2,322.5 hrs\n* TSMOH: 122.5 hrs (Aug 2023)\n* Prop TSOH: 122.5 hrs\n* Top speed 175 kts\n"
         "* Normal cruise 160 kts @ 12.0 gph (65% power, 9,500')\n* Autopilot: two-axis, altitude hold "
         "INOP\n* Price: $239,000\n* Year/model: 1997 four seat retractable",
         {AIRFRAME_H: 2322.5, ENGINE_H: 122.5, "engine.overhaul_year": 2023, PROP_H: 122.5, CRUISE: 160, FLOW: 12,
          "cruise_power_share": 0.65, "cruise_level_ft": 9500, PRICE: 239000, YEAR: 1997, SEATS: 4}),
    Case("third of a partnership",
         "1/3 partnership in turbo single based in Ohio: $55,000 buy-in, $300 monthly, $110 per tach hour. "
         "1982 six seat, 2,900 TT, 900 SMOH (1600 TBO).",
         {"share_for_sale": 1 / 3, "share_price": 55000, PRICE: NOTHING, YEAR: 1982, SEATS: 6, AIRFRAME_H: 2900,
          ENGINE_H: 900, TBO: 1600}),
    Case("month and completed",
         "Well-equipped 2003 four-seat: WAAS GPS, two-axis AP with altitude preselect, ADS-B out, dual "
         "alternators, no oxygen, no de-ice. 2,005 TT, 2,005 SNEW, 1,980 lbs empty?, useful load 1,032. "
         "Annual 1/2026 completed.",
         {YEAR: 2003, SEATS: 4, APPROACH: "lpv", AUTOPILOT: "two_axis", ADSB: True, "panel.oxygen": "none",
          "panel.ice_protection": "none", AIRFRAME_H: 2005, ENGINE_H: 2005, USEFUL: 1032, ANNUAL: 1}),
    Case("two speeds, two clauses",
         "Max cruise 172 kts TAS at 7,500 ft, econ 158 kts at 11.5 gph. Stall (dirty) 56 kts. T/O over 50 "
         "ft 1,800 ft. 1994 280 hp RG 4 seat. 2,870 TTAF, 870 SFRM (2011). $248,000.",
         {CRUISE: 158, FLOW: 11.5, "book.vs0_cas_kt": 56, YEAR: 1994, HP: 280, GEAR: "retractable", SEATS: 4,
          AIRFRAME_H: 2870, ENGINE_H: 870, SINCE: "factory remanufacture", "engine.overhaul_year": 2011,
          PRICE: 248000}),
    Case("German list",
         "1990 4-Sitzer, 200 PS Einziehfahrwerk, TTSN 3.120 h, Motor 420 h seit GUe, Prop 420 h, "
         "Leergewicht 790 kg, MTOW 1.200 kg, Preis 145.000 EUR",
         {YEAR: 1990, SEATS: 4, HP: 197, AIRFRAME_H: 3120, ENGINE_H: 420, PROP_H: 420,
          "weights.max_takeoff_lb": 2646, "price_other_currency": (145000, "EUR"), PRICE: NOTHING}),
    Case("strokes for commas",
         "AFTT 5,105 / ENG 1,005 SMOH / PROP 105 SPOH / ANN 09-25 / 1977 / 200HP RG / 4 SEAT / UL 940 / "
         "$86,500",
         {AIRFRAME_H: 5105, ENGINE_H: 1005, PROP_H: 105, YEAR: 1977, HP: 200, GEAR: "retractable", SEATS: 4,
          USEFUL: 940, PRICE: 86500}),
    Case("appraised, and a year inside since",
         "Fly away for $72,000! (appraised at $85,000) 1966 fixed gear, four seats, 180 hp. 1,200 hours "
         "since 2006 overhaul. 3,990 TT. No radar, no autopilot. Hangared since new.",
         {PRICE: 72000, YEAR: 1966, GEAR: "fixed", SEATS: 4, HP: 180, ENGINE_H: 1200, "engine.overhaul_year": 2006,
          AIRFRAME_H: 3990, AUTOPILOT: "none", "panel.weather_on_board": False, HANGAR: True}),
    Case("both engines by letters",
         "1979 twin, 2x160, both engines 2,000 hr TBO: L 1,510 R 480. 7,005 TTAF. Useful 1,288. Sold with "
         "fresh annual. 79,500.",
         {YEAR: 1979, ENGINES: 2, HP: 160, TBO: 2000, ENGINE_H: (1510, 480), AIRFRAME_H: 7005, USEFUL: 1288,
          ANNUAL: (0, 0.5, 1)}),
    Case("dates on lines of their own",
         "Engine Time: 820 SMOH. Overhauled: March 2013. Prop Time: 210 hrs. Prop overhauled: 2020. "
         "Airframe Time: 4,980. Year: 1976. Asking: USD 98,000",
         {ENGINE_H: 820, "engine.overhaul_year": 2013, PROP_H: 210, "propeller.overhaul_year": 2020,
          AIRFRAME_H: 4980, YEAR: 1976, PRICE: 98000}),
    Case("tags and strokes glued",
         "3200TT/800SMOH/300SPOH 1975 4seat 160hp FG. NDH. 52K. ph 555 0101.",
         {AIRFRAME_H: 3200, ENGINE_H: 800, PROP_H: 300, YEAR: 1975, SEATS: 4, HP: 160, DAMAGE: "none", PRICE: 52000}),
    Case("overhaul schedule",
         "One of 350 built in 1962. 250 hp. 4,700 hours. Engine has 700 hours on a 1,500 hour overhaul "
         "schedule. Cruise 152 knots burning 12.5. 84 gallons. $68,000",
         {YEAR: 1962, HP: 250, AIRFRAME_H: 4700, ENGINE_H: 700, TBO: 1500, CRUISE: 152, FUEL: 84, PRICE: 68000}),
    Case("",
         "Avionics value $40,000. Annual 12/2025 by IA, comps 74 75 76 74. IFR certified 5/2025. 1972 200hp "
         "RG 5,240 TTSN 1,120 SMOH 2010 120 SPOH 2024. $82,500 OBRO.",
         {ANNUAL: 2, "engine.compression_psi_of_80": 74, YEAR: 1972, HP: 200, GEAR: "retractable", AIRFRAME_H: 5240,
          ENGINE_H: 1120, "engine.overhaul_year": 2010, PROP_H: 120, "propeller.overhaul_year": 2024, PRICE: 82500}),
    Case("intervals of both",
         "Airframe 6500, engine 1500/2000, prop 500/2400 hours, 1980, 180 hp, 4 seats, fixed, annual til "
         "11/2026, asking 62",
         {AIRFRAME_H: 6500, ENGINE_H: 1500, TBO: 2000, PROP_H: 500, YEAR: 1980, HP: 180, SEATS: 4,
          "annual_due": "2026-11", PRICE: NOTHING}),
    Case("words for hours and annual",
         "Two 25-gallon tanks. 150 hp, 1958, four place. 108 kts/9gph. Last flown 2023, needs battery and "
         "annual. 1,400 on motor, 2,900 on airframe. Make me an offer over 20.",
         {FUEL: 50, HP: 150, YEAR: 1958, SEATS: 4, CRUISE: 108, FLOW: 9, "out_of_annual": True, ENGINE_H: 1400,
          AIRFRAME_H: 2900, PRICE: NOTHING}),
)
