"""Cells that a spreadsheet would compute are written as text and read back the same."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from robust_cases import RETRACTABLE

from missionsim.base.cells import read_cell, safe_cell
from missionsim.report.records import csv_text
from missionsim.study.inputs.load_study import load_study
from missionsim.study.inputs.write_trips import trips_csv

FORMULAS = ("=1+1", "+1+1", "-2+3", "@SUM(A1)", "=cmd|'/c calc'!A0", "'=1+1", "\tx", "''-a")


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_begins_as_a_formula_does(text: str) -> None:
    assert safe_cell(text) == f"'{text}"
    assert read_cell(safe_cell(text)) == text


@pytest.mark.parametrize("text", ["-63.00", "+5", "1e-3", "-.5", "KGRI", "", "'tis", "a=b", "O'Neill"])
def test_numbers_and_words_stay_as_they_are(text: str) -> None:
    assert safe_cell(text) == read_cell(text) == text


@given(st.text())
def test_any_text_comes_back(text: str) -> None:
    assert read_cell(safe_cell(text)) == text


def test_tables_of_results_hold_no_formula() -> None:
    exact = ["-63.00"] * len(FORMULAS)
    frame = pd.DataFrame({"candidate": list(FORMULAS), "amount_usd": exact, "n": -1, "x_h": -1.5})
    rows = list(csv.DictReader(io.StringIO(csv_text(frame))))
    assert [read_cell(r["candidate"]) for r in rows] == list(FORMULAS)
    assert all(r["candidate"].startswith("'") for r in rows)
    assert {(r["amount_usd"], r["n"], r["x_h"]) for r in rows} == {("-63.00", "-1", "-1.5")}


def test_a_trip_list_written_out_is_read_back_the_same(tmp_path: Path) -> None:
    (tmp_path / "trips.csv").write_text("date,to,purpose\n2025-03-04,KOMA,=1+1\n2025-03-06,KOMA,-x\n", encoding="utf-8")
    path = tmp_path / "study.yaml"
    path.write_text(f"study: s\nhome: KGRI\ntrips: trips.csv\ncandidates: {json.dumps([RETRACTABLE])}\n",
                    encoding="utf-8")
    listed = load_study(path).listed
    assert listed is not None
    assert [t.purpose for t in listed] == ["=1+1", "-x"]
    written = trips_csv(listed)
    assert ",'=1+1" in written
    (tmp_path / "trips.csv").write_text(written, encoding="utf-8")
    again = load_study(path).listed
    assert again is not None
    assert [t.purpose for t in again] == ["=1+1", "-x"]
