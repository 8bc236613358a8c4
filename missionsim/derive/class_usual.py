"""Build `missionsim/data/class_usual.csv`: `python -m missionsim.derive.class_usual [RAW]`.

Keeps what a profile needs of the 10, 50 and 90 % points across the types of each class: percentiles of the open
dataset `Airplane_Cleaned.csv` (repository A090MA/data_of_aircraft, 860 type rows), common practice and memory where it
has none.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import pandas as pd

RAW = Path(__file__).parents[3] / "shared" / "class_figures.csv"
OUT = Path(__file__).parent.parent / "data" / "class_usual.csv"
KEPT = {"mtow_lb": "max_takeoff_lb", "useful_lb": "useful_load_lb", "fuel_usgal": "usable_gal",
        "wing_area_ft2": "wing_area_sqft",
        "wing_span_ft": "wing_span_ft", "seats": "seats", "hp_each": "rated_hp", "v75_ktas": "cruise_tas_kt",
        "gph75": "cruise_fuel_flow_gph", "roc_sl_fpm": "climb_fpm", "ceiling_ft": "service_ceiling_ft",
        "to_roll_ft": "takeoff_roll_ft", "to_50ft_ft": "takeoff_50ft_ft", "ldg_roll_ft": "landing_roll_ft",
        "ldg_50ft_ft": "landing_50ft_ft", "vs0_kt": "vs0_cas_kt", "xwind_kt": "demonstrated_crosswind_kt",
        "baggage_lb": "baggage_lb", "tbo_h": "tbo_h", "hull_kusd": "hull_usd"}


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("raw", nargs="?", type=Path, default=RAW)
    table = pd.read_csv(parser.parse_args().raw)
    table = table[table["parameter"].isin(KEPT) & ~table["class_id"].str.contains("_")].copy()
    money = table["parameter"] == "hull_kusd"
    table.loc[money, ["p10", "p50", "p90"]] *= 1000.0
    table["figure"] = table["parameter"].map(KEPT)
    table["source"] = table["basis"].str.replace("published:open dataset", "open dataset", regex=False)
    table[["class_id", "figure", "p10", "p50", "p90", "source"]].to_csv(OUT, index=False, float_format="%.10g")
    print(f"{len(table)} rows of {table['class_id'].nunique()} classes to {OUT}")


if __name__ == "__main__":
    main()
