"""The library as a notebook uses it: the same checks as files, short in print, tables, axes of one's own."""

from __future__ import annotations

import pandas as pd
import pytest
import yaml
from matplotlib.figure import Figure

import missionsim
from missionsim.study.inputs.files import demo_folder

TRIPS = pd.DataFrame({"date": ["2025-03-04", "2025-06-10"], "to": ["KOMA", "KMKC"], "return": ["", "2025-06-11"],
                      "adults": [2, 1]})


def aircraft():
    return sorted((demo_folder() / "aircraft").glob("*.yaml"))[:2]


@pytest.fixture(scope="module")
def study():
    first, second = aircraft()
    return missionsim.make_study(home="KGRI", trips=TRIPS, replications=2, pilot={"total_h": 500}, trips_are="logbook",
                                 candidates=[first, {"aircraft": yaml.safe_load(second.read_text("utf-8")),
                                                     "name": "Typed in"}])


@pytest.fixture(scope="module")
def found(study):
    return missionsim.compare(study)


def test_a_study_made_in_a_program_is_the_one_its_files_would_make(study, tmp_path):
    TRIPS.to_csv(tmp_path / "trips.csv", index=False)
    first, second = aircraft()
    (tmp_path / "study.yaml").write_text(yaml.safe_dump({
        "study": "study", "home": "KGRI", "trips": "trips.csv", "trips_are": "logbook", "replications": 2,
        "pilot": {"total_h": 500},
        "candidates": [str(first), {"aircraft": str(second), "name": "Typed in"}]}), encoding="utf-8")
    read = missionsim.load_study(tmp_path / "study.yaml")
    assert (read.listed, read.pilot, read.year) == (study.listed, study.pilot, study.year)
    assert [c.profile for c in read.candidates] == [c.profile for c in study.candidates]


def test_its_faults_are_all_told_at_once_without_a_folder_of_ours():
    with pytest.raises(missionsim.InputError) as error:
        missionsim.make_study(home="KGRI", trips=TRIPS.assign(adults=[0, 1]), candidates=aircraft(), replicatons=3)
    said = str(error.value)
    assert "trips.csv" in said
    assert "replications" in said
    assert "/tmp" not in said.replace(str(demo_folder()), "")


def test_a_changed_study_is_checked_again(study):
    other = study.with_(fuel_usd_per_gal=9.0, seed=3, assumptions={"pilot.reserve_min": 75})
    assert (other.spec.prices.fuel_usd_per_gal, other.seed, other.pilot.reserve_min) == (9.0, 3, 75)
    assert (study.seed, study.spec.prices.fuel_usd_per_gal) == (1, None)
    again = other.with_(seed=4)
    assert (again.seed, again.spec.prices.fuel_usd_per_gal) == (4, 9.0)
    with pytest.raises(missionsim.InputError, match="Did you mean 'seed'"):
        study.with_(sed=3)
    with pytest.raises(missionsim.InputError, match="replications"):
        study.with_(replications=0)
    demo = missionsim.load_study().with_(replications=7)
    assert (demo.replications, len(demo.candidates)) == (7, 4)


def test_it_prints_short_and_shows_a_table(found):
    assert len(repr(found).splitlines()) <= 6
    assert len(repr(found)) < 1_500
    assert found._repr_html_().count("<tr>") == 1 + 2 + 3   # the head, two candidates, rent, share, no aircraft


def test_tables_are_data_frames(found):
    assert set(found.summary()["candidate"]) == set(found.names)
    assert len(found.trips()) == 2 * 2 * 2
    assert {"from", "to", "block_h"} <= set(found.flights().columns)
    for name in found.names:
        whole = found.ledger().query("candidate == @name").groupby("replication")["amount_usd"].sum()
        assert whole.to_numpy() == pytest.approx(found.by_replication("net_cost_usd")[name].to_numpy(), abs=0.01)
    assert "start_h" in found.shop().columns
    assert list(found.alternatives()["trips_made"]) == sorted(found.alternatives()["trips_made"])


def test_unknown_names_are_told_with_the_nearest(found):
    with pytest.raises(missionsim.InputError, match="Did you mean 'net_cost_usd'"):
        found.by_replication("net_cost")
    with pytest.raises(missionsim.InputError, match="Did you mean 'Typed in'"):
        found.candidate("Typed im")
    assert found.candidate("Typed in").name == "Typed in"


def test_figures_are_drawn_on_ones_own_axes(found):
    ax = Figure().add_subplot()
    assert found.plot.cost(ax) is ax
    assert len(ax.lines) >= 5
    assert len(found.plot.trade_off().lines) >= 5
    assert len(found.plot.trips().patches) == 10


SIX_LINES = """
study = missionsim.make_study(home="KGRI", trips=trips, candidates=aircraft, pilot={"total_h": 500})
found = missionsim.compare(study, replications=2)
print(found)                                   # the answer in a few lines
found.by_replication("net_cost_usd")           # a row a simulated year, a column a candidate
missionsim.compare(study.with_(fuel_usd_per_gal=9.0), replications=2).alternatives()
found.plot.cost()
"""


def test_the_six_lines_run(capsys):
    exec(SIX_LINES, {"missionsim": missionsim, "trips": TRIPS, "aircraft": aircraft()})
    assert "simulated years" in capsys.readouterr().out
