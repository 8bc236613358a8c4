"""Build `missionsim/data/class_figures.csv`: `python -m missionsim.derive.class_figures`.

Reads the table of class figures gathered from an open data set of light aircraft types (only its percentiles), from
published documents, common practice and memory, and keeps what the program reads: three percentiles across the types
of a class, the kind of source, and whether they rest on little.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd

RAW = Path(__file__).parents[3] / "shared" / "class_figures.csv"
OUT = Path(__file__).parent.parent / "data" / "class_figures.csv"
SOURCES = (("published", "published data, percentiles across types"), ("dataset", "published data and memory"),
           ("fit", "relation fitted to published data"), ("common", "common practice"), ("memory", "from memory"))


def source_of(basis: str) -> str:
    """Return the kind of source in the words of the assumptions file."""
    kind = basis.partition(":")[0].partition(";")[0]
    return next((words for key, words in SOURCES if key in kind), "from memory")


def reduced(raw: pd.DataFrame) -> pd.DataFrame:
    """Return the rows that are kept, with short columns."""
    kept = raw.dropna(subset=["p50"])
    weak = kept["note"].fillna("").str.contains("weak") | kept["basis"].str.startswith("memory")
    return pd.DataFrame({"class": kept["class_id"], "figure": kept["parameter"], "low": kept["p10"],
                         "likely": kept["p50"], "high": kept["p90"],
                         "source": [source_of(str(basis)) for basis in kept["basis"]],
                         "weak": weak.map({True: "yes", False: "no"})})


def main() -> None:
    """Write the table."""
    reduced(pd.read_csv(RAW)).to_csv(OUT, index=False, lineterminator="\n")


if __name__ == "__main__":
    main()
