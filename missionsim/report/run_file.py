"""What a comparison leaves behind as files, and what a run rests on."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

import missionsim
from missionsim.base.owned_files import PROGRAM, with_run
from missionsim.report.audit import drawn_frame, prices_frame, visit_usd, years_frame
from missionsim.report.contract import clean
from missionsim.report.records import (
    csv_text,
    flights_frame,
    kept_replications,
    ledger_frame,
    shop_frame,
    summary_frame,
    trips_frame,
)
from missionsim.report.refusals import refusals_frame
from missionsim.report.wording import cautions_for
from missionsim.study.compare.compare import CONTRACT_VERSION, Comparison
from missionsim.study.inputs.load_study import Study
from missionsim.world.data import sources

COMPARE = "compare"
"""The command whose results these are, as run.json names it."""
PACKAGES = ("numpy", "pandas", "geopy", "geographiclib", "simpy", "pyyaml", "pydantic", "jinja2", "matplotlib",
            "astral", "joblib", "tzdata")


def result_files(comparison: Comparison, report: str, tables: Mapping[str, str] | None = None) -> dict[str, str]:
    """Return name and text of every file of a comparison.

    Parameters
    ----------
    report : str                 The text of report.html.
    tables : mapping, optional   As `result_tables` gives them; else they are made here.
    """
    return with_run(run_object(comparison), {"report.html": report, **(tables or result_tables(comparison))})


def result_tables(comparison: Comparison) -> dict[str, str]:
    """Return name and text of every table of a comparison."""
    return {
        "summary.csv": csv_text(summary_frame(comparison)),
        "trips.csv": csv_text(trips_frame(comparison)), "flights.csv": csv_text(flights_frame(comparison)),
        "shop.csv": csv_text(_priced_visits(comparison)), "ledger.csv": csv_text(ledger_frame(comparison)),
        "years.csv": csv_text(years_frame(comparison)), "drawn.csv": csv_text(drawn_frame(comparison)),
        "prices.csv": csv_text(prices_frame(comparison)), "refusals.csv": csv_text(refusals_frame(comparison)),
    }


def _priced_visits(comparison: Comparison) -> pd.DataFrame:
    return shop_frame(comparison).assign(
        cost_usd=np.concatenate([visit_usd(comparison, result) for result in comparison.results]))


def run_object(comparison: Comparison) -> dict[str, Any]:
    """Return what a run rests on: enough to run it again, and nothing that differs from machine to machine."""
    study = comparison.study
    more = {name: clean(getattr(comparison, name)) for name in ("decided_before", "stopping")}
    return {
        **provenance(study), "command": COMPARE, "replications": comparison.replications,
        "replications_kept": len(kept_replications(comparison.results[0])),
        "candidates": [{"name": c.name, "file": Path(c.file).name, "upgrades": list(c.upgrades)}
                       for c in study.candidates],
        **{name: value for name, value in more.items() if value is not None},
    }


def provenance(study: Study) -> dict[str, Any]:
    """Return program, versions, seed, files, assumptions and data sources of a study."""
    hashes = sorted((Path(name).name, digest) for name, digest in study.hashes.items())
    found: dict[str, Any] = clean({
        "program": PROGRAM, "version": missionsim.__version__, "contract_version": CONTRACT_VERSION,
        "python": f"{sys.version_info.major}.{sys.version_info.minor}", "packages": versions(),
        "study": study.name, "question": study.spec.question, "home": study.home.ident, "year": study.year,
        "seed": study.seed, "files": [{"file": name, "sha256": digest} for name, digest in hashes],
        "notes": list(study.notes),
        "data_sources": [{"table": s.table, "source": s.source, "date": s.date, "note": s.note} for s in sources()],
        "assumptions": {a.key: {"value": a.value, "unit": a.unit, "source": a.source} for a in study.assumptions},
        "cautions": list(cautions_for(study.pilot.rating)),
    })
    return found


def versions() -> dict[str, str]:
    """Return the versions of the packages that results rest on."""
    return {name: metadata.version(name) for name in PACKAGES}
