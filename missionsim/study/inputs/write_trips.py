"""The trips of a study written out: as a table that can be read back, and as data."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path
from typing import Any

from missionsim.base.cells import safe_cell
from missionsim.study.inputs.files import home_expanded, write_new
from missionsim.study.inputs.load_study import Study, load_study
from missionsim.study.inputs.trip_rows import COLUMNS, as_rows
from missionsim.year.trips import TripTable


def trips_of(study: str | None, replication: int = 0, seed: int | None = None) -> tuple[Study, TripTable]:
    """Return a study and the trips of one of its simulated years.

    Parameters
    ----------
    study : str or None    A study file; None is the packaged demo.
    replication : int      Which simulated year, from 0; a trip list is the same in all of them.
    seed : int, optional   Another seed than the study's.
    """
    loaded = load_study(study)
    if seed is not None:
        loaded = replace(loaded, seed=seed)
    return loaded, loaded.trips(replication)


_READ_ONLY = frozenset({"nights", "people", "passengers", "fuel_stop", "hours"})
"""Columns that say in another way what is written under other headings."""


def trips_csv(table: TripTable) -> str:
    """Return a trip table as CSV under our own column names; an empty one has its headings alone."""
    rows = as_rows(table)
    names = list(rows[0]) if rows else [name for name in COLUMNS if name not in _READ_ONLY]
    text = io.StringIO()
    writer = csv.DictWriter(text, names, lineterminator="\n")
    writer.writeheader()
    writer.writerows({name: safe_cell(cell) for name, cell in row.items()} for row in rows)
    return text.getvalue()


def write_trips(table: TripTable, out: str) -> Path:
    """Write a trip table into a new file.

    Raises
    ------
    InputError   The file is there already, or cannot be written.
    """
    path = home_expanded(out)
    write_new(path, trips_csv(table))
    return path


def trips_json(study: Study, table: TripTable, replication: int) -> dict[str, Any]:
    """Return a trip table as plain data, with what could not be read into it."""
    return {
        "study": study.name, "home": table.home, "year": table.year, "seed": study.seed, "replication": replication,
        "generated": study.listed is None, "notes": list(table.notes), "outside_year": table.outside_year,
        "unstitched": [{"line": u.line, "date": u.when.isoformat(), "from": u.from_place, "to": u.to_place,
                        "why": u.why} for u in table.unstitched],
        "trips": [{
            "trip_id": t.trip_id, "stops": list(t.stops),
            "departs_local": [d.isoformat(timespec="minutes") for d in t.departs_local], "adults": t.adults,
            "children": t.children, "adults_least": t.adults_least, "bags_lb": t.bags_lb, "must_go": t.must_go,
            "must_be_possible": t.must_be_possible,
            "optional_value_usd": t.optional_value_usd, "substitute_usd": t.substitute_usd,
            "substitute_h": t.substitute_h, "earlier_h": t.earlier_h, "later_h": t.later_h,
            "return_earlier_h": t.return_earlier_h, "return_later_h": t.return_later_h, "purpose": t.purpose,
            "days_earlier": t.days_earlier, "days_later": t.days_later, "day_step": t.day_step,
            "evening_h": t.evening_h, "moved_usd": t.moved_usd, "moved_h": t.moved_h, "member": t.member}
            for t in table],
    }
