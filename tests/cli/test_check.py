"""`missionsim check` from the prompt."""

from __future__ import annotations

import json

import pytest

from missionsim.cli.app import main
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study

DEMO = demo_folder()


def run(capsys, *arguments):
    """Return exit code, stdout and stderr of a command."""
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    return end.value.code, out, err


def test_good_files_show_fit_and_what_is_open(capsys):
    code, out, err = run(capsys, "check", str(DEMO / "aircraft" / "retractable_260.yaml"),
                         str(DEMO / "trips" / "farm_dealer.csv"))
    assert (code, err) == (0, "")
    for part in ("Book figures against the prediction", "service ceiling", "leaves open", "63 trips of 2025"):
        assert part in out


def test_json(capsys):
    code, out, _ = run(capsys, "check", "--json", str(DEMO / "studies" / "buyer.yaml"))
    assert code == 0
    (entry,) = json.loads(out)["files"]
    assert entry["kind"] == "study"
    assert len(entry["aircraft"]) == 4


def test_own_headings_are_given_on_the_line(capsys):
    code, out, _ = run(capsys, "check", str(DEMO / "trips" / "logbook.csv"), "--column", "fuel_stop=Fuel only")
    assert code == 0
    assert "make no trip from home to home" in out


@pytest.mark.parametrize(("arguments", "said"), [
    (("absent.yaml",), "absent.yaml: file not found"), ((), "Missing argument: files to check"),
    ((str(DEMO / "trips" / "logbook.csv"), "--column", "nonsense"), "equals sign"),
    ((str(DEMO / "trips" / "farm_dealer.csv"), "--column", "place=to"), "no such column"),
    ((str(DEMO / "trips" / "farm_dealer.csv"), "--home", "KGRl"), "Did you mean")])
def test_faults(capsys, arguments, said):
    code, out, err = run(capsys, "check", *arguments)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


PLACES = {
    "trips": ("compare", "home: KGRI\ntrips: t.csv\n"),
    "demand": ("compare", "home: KGRI\ndemand: [{to: MMMX, per_year: 3}]\n"),
    "home": ("compare", "home: MMMX\ndemand: [{to: KOMA, per_year: 3}]\n"),
    "members": ("partners", "home: KGRI\nmembers: {people: [{name: a, demand: [{to: MMMX, per_year: 1}]}]}\n"),
    "requests": ("rates", "home: KGRI\noperation: charter_on_certificate\ndemand: [{to: KOMA, per_year: 3}]\n"
                          "outside: {requests: [{to: MMMX, per_year: 1}]}\n")}


@pytest.mark.parametrize("where", PLACES)
def test_a_place_without_weather_is_refused_as_the_command_itself_refuses_it(where, capsys, tmp_path):
    command, text = PLACES[where]
    study = tmp_path / "s.yaml"
    study.write_text(f"study: s\nyear: 2025\ncandidates: [{DEMO / 'aircraft' / 'retractable_260.yaml'}]\n{text}")
    (tmp_path / "t.csv").write_text("date,to\n2025-02-03,KOMA\n2025-03-03,MMMX\n")
    checked = run(capsys, "check", str(study))
    assert checked == run(capsys, command, str(study), "--out", str(tmp_path / "out"))
    assert checked[:2] == (2, "")
    assert "MMMX: no weather station within 120 nm" in checked[2]
    assert ("t.csv:3: to: " if where == "trips" else "s.yaml:") in checked[2]


def test_a_list_by_itself_is_refused_for_a_place_without_weather(capsys, tmp_path):
    trips = tmp_path / "t.csv"
    trips.write_text("date,to\n2025-02-03,KOMA\n2025-03-03,MMMX\n")
    code, _, err = run(capsys, "check", str(trips), "--home", "KGRI")
    assert code == 2
    assert "t.csv:3: to: MMMX: no weather station" in err
    trips.write_text("date,to\n2025-02-03,KOMA\n")
    code, _, err = run(capsys, "check", str(trips), "--home", "MMMX")
    assert code == 2
    assert "home: MMMX: no weather station" in err


def test_help_shows_an_example(capsys):
    assert "Example: missionsim check" in run(capsys, "check", "--help")[1]


ADVERTISEMENT = "1978 four-seat retractable, 200 hp, TT 4,650, 1180 SMOH, UL 905, $124,900 OBO"


def test_advertisement_shows_words_and_questions(capsys, tmp_path):
    text, out_file = tmp_path / "ad.txt", tmp_path / "proposed.yaml"
    text.write_text(ADVERTISEMENT)
    code, out, err = run(capsys, "check", "--advertisement", str(text), "--out", str(out_file))
    assert (code, err) == (0, "")
    for part in ("1180 SMOH", "What to ask the seller", "prices.asking_price_usd", "124,900"):
        assert part in out
    assert 'hours_since_overhaul_h: 1180' in out_file.read_text()
    code, _, err = run(capsys, "check", "--advertisement", str(text), "--out", str(out_file))
    assert code == 2
    assert "not overwritten" in err


def test_advertisement_as_data(capsys, tmp_path):
    text = tmp_path / "ad.txt"
    text.write_text(ADVERTISEMENT)
    code, out, _ = run(capsys, "check", "--advertisement", str(text), "--json")
    assert code == 0
    data = json.loads(out)
    (useful,) = [f for f in data["figures"] if f["key"] == "weights.useful_load_lb"]
    assert (useful["value"], useful["words"]) == (905.0, "UL 905")


def test_check_wants_files_or_an_advertisement(capsys):
    assert run(capsys, "check")[0] == 2
    assert run(capsys, "check", "x.yaml", "--advertisement", "y.txt")[0] == 2


def test_an_advertisement_too_good_to_be_true_is_told_in_words(capsys, tmp_path):
    text = tmp_path / "ad.txt"
    text.write_text("1978 four seat retractable 200 hp, cruise 330 kts, $80,000")
    code, out, err = run(capsys, "check", "--advertisement", str(text))
    assert (code, err) == (0, "")
    assert "fit no such aircraft" in out


def test_a_partnership_tells_the_trips_of_each_member(capsys):
    folder = demo_folder() / "studies"
    out = " ".join(run(capsys, "check", str(folder / "partnership.yaml"))[1].split())
    study = load_study(folder / "partnership.yaml")
    for member in study.members:
        yearly = sum(line.per_year for line in member.demand)
        assert f"{member.name}: {len(member.demand)} kind" in out
        assert f"{yearly:.0f} trips a year on average" in out
    assert "0 kinds of trips" not in out
