"""What is said of flights with one engine beyond gliding distance of land: across a lake, round it, and with two."""

from __future__ import annotations

import re
from dataclasses import replace
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from missionsim.base.words import Reason
from missionsim.page.screen import screen_of
from missionsim.report.check import check_sheets
from missionsim.report.html import _notes
from missionsim.report.leg import leg_json, notes
from missionsim.report.terminal import print_comparison
from missionsim.study.compare.compare import compare
from missionsim.study.inputs.check import check_files
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.gliding import below, beyond_nm
from missionsim.study.prepare.open_water import calm_level, crossings, open_water, straight_water
from missionsim.study.prepare.study import prepare
from missionsim.study.single_leg.plan import LegRequest, plan_leg, reasons_of_leg
from missionsim.world.ground.water import Glide

AIRCRAFT = Path(__file__).parents[3] / "profiles" / "aircraft" / "fixed_180.yaml"
LAKE = 'study: lake\nhome: KMKE\nyear: 2025\ncandidates: [{aircraft}]\n{more}trips: {{file: trips.csv}}\n'
ACROSS = "date,to,return\n2025-05-06,KGRR,2025-05-07\n2025-06-03,KMSN,2025-06-04\n"


def lake_study(folder, trips=ACROSS, more=""):
    (folder / "trips.csv").write_text(trips, encoding="utf-8")
    file = folder / "study.yaml"
    file.write_text(LAKE.format(aircraft=AIRCRAFT, more=more), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def across(tmp_path_factory):
    return prepare(load_study(lake_study(tmp_path_factory.mktemp("across"))))


def test_across_a_lake_by_hand(across):
    """The lake is 71 nm wide there; both fields lie near the shore or behind it, and the level is 580 ft less."""
    flyer = across.flyers[0]
    found = {(c.from_ident, c.to_ident): c for c in crossings(across, flyer)}
    assert set(found) == {("KMKE", "KGRR"), ("KGRR", "KMKE")}
    for crossing in found.values():
        glide_nm = 1.5 * (crossing.level_ft - 580.0) / 1000.0
        # Climbing out from the field at the shore loses up to the glide of the level, never more.
        assert 71.0 - 2.0 * glide_nm - 4.0 <= crossing.beyond_nm <= 71.0 - glide_nm + 4.0
        assert crossing.beyond_h == pytest.approx(crossing.beyond_nm / 120.0, rel=0.15)  # some 120 kt


def test_a_longer_glide_reaches_farther(tmp_path, across):
    far = prepare(load_study(lake_study(tmp_path, more="assumptions: {terrain.glide_nm_per_1000_ft: 3.0}\n")))
    nm = [max(c.beyond_nm for c in crossings(made, made.flyers[0])) for made in (across, far)]
    assert nm[1] < nm[0] - 3.0


def test_the_level_is_that_of_a_calm_day(across):
    plan = across.flyers[0].plan
    for row in range(len(plan.rows.lane)):
        level = calm_level(plan, row)
        hours = plan.table.still_air_h[row]
        assert level is not None
        assert hours[level] <= np.nanmin(hours) * 1.0151
        assert not (hours[:level] <= np.nanmin(hours) * 1.0149)[plan.level_limits.clears_terrain[row, :level]].any()


def test_a_sentence_names_the_way_once_and_the_longest_first(across):
    (told,) = open_water(across)
    assert re.search(r"beyond gliding distance of land: K\w+ to K\w+ \d\d nm \(\d\d min\)\. ", told)
    assert "KMSN" not in told
    assert open_water(across, across) == (told,)


def test_two_engines_are_not_told(across):
    flyer = across.flyers[0]
    engine = flyer.candidate.profile.engine.model_copy(update={"count": 2})
    twin = replace(flyer.candidate, profile=flyer.candidate.profile.model_copy(update={"engine": engine}))
    assert open_water(replace(across, flyers=(replace(flyer, candidate=twin),))) == ()


def test_over_land_nothing_is_said(tmp_path):
    file = lake_study(tmp_path, "date,to,return\n2025-06-03,KMSN,2025-06-04\n")
    study = load_study(file)
    assert open_water(prepare(study)) == ()
    assert straight_water(study) == ()


def test_told_by_check_terminal_report_and_page(tmp_path):
    file = lake_study(tmp_path)
    lines = [line for said, _ in check_sheets(check_files([str(file)])) for line in said]
    assert sum(line.startswith("Open water on the straight way: KGRR to KMKE 7") for line in lines) == 1
    comparison = compare(load_study(file), replications=2)
    (told,) = open_water(comparison.prepared)
    assert told in _notes(comparison)
    terminal = Console(file=StringIO(), width=1000)
    print_comparison(terminal, comparison, None)
    assert f"Note: {told}" in terminal.file.getvalue()
    assert told in screen_of(comparison).cautions


def test_told_by_a_leg():
    def said(start, end):
        return [note for note in notes(plan_leg(LegRequest("fixed_180", start, end))) if "gliding" in note]

    (note,) = said("KMKE", "KGRR")
    assert re.match(r"KMKE to KGRR: [4-7]\d nm, [23]\d min of it beyond gliding distance of land at \d,\d00 ft; ", note)
    assert said("KMKE", "KMSN") == []


@pytest.fixture
def limited(tmp_path):
    """Return what makes the study of a pilot who accepts so many miles."""
    def made(most_nm, more=""):
        return load_study(lake_study(tmp_path, more=f"pilot: {{open_water_nm: {most_nm}}}\n{more}"))
    return made


def test_a_limit_closes_levels_and_no_others(limited, across):
    """Higher levels glide farther, so that a limit between two of them leaves the higher ones."""
    free = across.flyers[0].plan
    lanes = across.lane_sets[free.rows.lane_set]
    row = int(np.flatnonzero(free.rows.to_place == across.places.row("KGRR"))[0])
    ends = tuple(across.places.airports[int(p[row])] for p in (free.rows.from_place, free.rows.to_place))
    nm = beyond_nm(free.table, row, below(lanes.routes[lanes.route[free.rows.lane[row]]], ends), Glide(1.5, 5.0))
    known = np.isfinite(free.table.rows.levels_ft[row])
    between_nm = float(np.mean(np.sort(nm[known])[:2]))
    held = prepare(limited(between_nm)).flyers[0].plan.level_limits
    shut = free.level_limits.open_[row] & ~held.open_[row]
    assert shut[known].sum() == known.sum() - 1
    assert (shut[known] == (nm[known] > between_nm)).all()
    to_land = free.rows.to_place == across.places.row("KMSN")
    assert (held.open_ == free.level_limits.open_)[to_land].all()


@pytest.mark.parametrize(("most_nm", "refused"), [(5, {"open_water": 1.0}), (1_000, {})])
def test_a_limit_refuses_the_crossing_in_any_weather(limited, most_nm, refused):
    comparison = compare(limited(most_nm, "trips_are: logbook\n"), replications=2)
    assert comparison.results[0].refused["structural"] == refused
    assert (open_water(comparison.prepared) == ()) is bool(refused)


def test_a_leg_over_the_limit_does_not_go(limited, tmp_path):
    limited(5)
    plan = plan_leg(LegRequest("fixed_180", "KMKE", "KGRR", study=str(tmp_path / "study.yaml")))
    assert not plan.go
    (why,) = reasons_of_leg(plan)
    assert (why.reason, why.unit) == (Reason.OPEN_WATER, "nm")
    assert 71.0 - 2.0 * 20.0 - 5.0 < why.margin < 71.0 - 5.0  # the lake, less a glide from 14,000 ft at either side
    assert all("open water" in level["blocked"] for level in leg_json(plan)["flights"][0]["levels"]
               if level["clears_terrain"] and level["time_h"] is not None)
    assert plan_leg(LegRequest("fixed_180", "KMKE", "KMSN", study=str(tmp_path / "study.yaml"))).go
