"""`missionsim new` from the prompt."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from missionsim.cli.app import main
from missionsim.cli.new_command import command
from missionsim.study.inputs.check import check_files


def run(capsys, *arguments):
    """Return exit code, stdout and stderr of a command."""
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    return end.value.code, out, err


def test_a_starter_is_written_and_passes_the_check(capsys, tmp_path):
    code, out, err = run(capsys, "new", str(tmp_path / "mine"))
    assert (code, err) == (0, "")
    assert f"missionsim compare {tmp_path / 'mine' / 'study.yaml'}" in out
    assert len(check_files([str(tmp_path / "mine" / "study.yaml")])) == 1


def test_a_path_with_a_space_can_be_run_as_it_is_told(capsys, tmp_path):
    out = run(capsys, "new", str(tmp_path / "my year"))[1]
    assert f'missionsim compare "{tmp_path / "my year" / "study.yaml"}"' in out


def test_json_names_the_files(capsys, tmp_path):
    files = json.loads(run(capsys, "new", str(tmp_path / "mine"), "--json")[1])["files"]
    assert files[0].endswith("study.yaml")
    assert len(files) == 4


def test_nothing_is_overwritten(capsys, tmp_path):
    (tmp_path / "study.yaml").write_text("mine", encoding="utf-8")
    code, out, err = run(capsys, "new", str(tmp_path))
    assert (code, out) == (2, "")
    assert "is not overwritten" in err
    assert (tmp_path / "study.yaml").read_text(encoding="utf-8") == "mine"


def test_help_shows_an_example(capsys):
    assert "Example: missionsim new" in run(capsys, "new", "--help")[1]


ANSWERS = """Grand Island, NE
y
n
620
195
1978 four-seat retractable, 200 hp, TT 4,650,
1180 SMOH, UL 905, $124,900 OBO

1965 four-place, 180 hp, 3,870 TT, 67K.

4 seats, fixed gear
y
1972 4 seat fixed gear 235 hp, 900 SMOH, call for price

88000
n
Omaha, NE 12, 2 people
Nowhereville 3
KDEN monthly, 3 people, 2 nights

"""


def test_questions_lead_to_a_study_that_runs(tmp_path):
    done = CliRunner().invoke(command, [str(tmp_path / "mine"), "--questions"], input=ANSWERS)
    assert done.exit_code == 0, done.output
    (checked,) = check_files([str(tmp_path / "mine" / "study.yaml")])
    study = checked.study
    pilot = study.pilot
    assert (study.home.ident, pilot.rating, pilot.night, pilot.total_h) == ("KGRI", "instrument", False, 620)
    assert [(d.places[0], d.per_year) for d in study.demand] == [("KOMA", 12), ("KDEN", 12)]
    assert [c.profile.prices.asking_price_usd for c in study.candidates] == [124_900, 67_000, 88_000]
    assert "Nowhereville" in done.output  # said, and asked again


def test_told_on_the_line_nothing_is_asked(capsys, tmp_path):
    (tmp_path / "ad.txt").write_text("1985 4 seat fixed gear, 180 hp, 940 SMOH, 67K")
    code, out, _ = run(capsys, "new", str(tmp_path / "mine"), "--home", "KGRI", "--fly", "KOMA 12", "--advertisement",
                       str(tmp_path / "ad.txt"))
    assert code == 0
    assert "missionsim compare" in out
    code, _, err = run(capsys, "new", str(tmp_path / "other"), "--home", "KGRI")
    assert code == 2
    assert "lacks --advertisement, --trips" in err


TABLE = """When,Where,Mood
2025-03-04,"Nashville, TN",fine
"""


def test_a_list_that_tells_nobody_who_comes_and_fields_of_towns_are_said_at_once(capsys, tmp_path):
    (tmp_path / "list.csv").write_text(TABLE, encoding="utf-8")
    (tmp_path / "ad.txt").write_text("1978 four-seat retractable, 200 hp, TT 4,650, 1180 SMOH, $124,900",
                                     encoding="utf-8")
    given = ("--home", "Daphne, AL", "--advertisement", str(tmp_path / "ad.txt"), "--trips", str(tmp_path / "list.csv"),
             "--no-questions")
    code, out, err = run(capsys, "new", str(tmp_path / "mine"), *given)
    assert code == 0
    assert "Daphne, AL is read as KBFM" in err
    assert "none open to the public" in err
    assert "nothing tells who comes on the only trip" in out
    assert "columns not used: Mood" in out
    assert "Nashville, TN is read as KJWN (John C Tune Airport: public, 5,500 ft paved); also KBNA (hub)" in out
    notes = json.loads(run(capsys, "new", str(tmp_path / "other"), *given, "--json")[1])["notes"]
    assert "nothing tells who comes" in notes[0]


def test_a_line_to_fly_is_said_as_it_was_taken(capsys, tmp_path):
    (tmp_path / "ad.txt").write_text("1978 four-seat retractable, 200 hp, TT 4,650, 1180 SMOH, $124,900",
                                     encoding="utf-8")
    _, _, err = run(capsys, "new", str(tmp_path / "mine"), "--home", "KGRI", "--advertisement",
                    str(tmp_path / "ad.txt"), "--fly", "Denver, CO 6", "--no-questions")
    assert "KAPA, 6 a year, 1 aboard, 0 nights; Denver, CO is read as KAPA" in err
