"""`missionsim leg` from the prompt."""

from __future__ import annotations

import json

import pytest

from missionsim.cli.app import main


def run(capsys, *arguments):
    """Return exit code, stdout and stderr of a command."""
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    return end.value.code, out, err


LEG = ("leg", "retractable_260", "KGRI", "KOMA")


def test_a_plan_is_printed_with_the_caution(capsys):
    code, out, err = run(capsys, *LEG, "--still-air")
    assert (code, err) == (0, "")
    for part in ("GOES", "levels", "required at start", "at take-off", "take-off KGRI", "flight manual"):
        assert part in out


def test_the_answer_no_is_no_error(capsys):
    code, out, _ = run(capsys, *LEG, "--people", "5")
    assert code == 0
    assert "DOES NOT GO" in out
    assert "seats: 1 person too many (5 for 4 seats)" in out


def test_json_is_one_object_on_stdout(capsys):
    code, out, err = run(capsys, *LEG, "--json", "--wind", "270/25", "--temp-dev", "10", "--people", "195,170",
                         "--bags-lb", "40", "--date", "2025-07-18T14:00", "--rules", "visual")
    assert (code, err) == (0, "")
    data = json.loads(out)
    assert list(data)[:7] == ["from", "to", "distance_nm", "course_deg", "go", "reasons", "flights"]
    assert data["date"] == "2025-07-18T14:00"
    assert data["people_lb"] == [195.0, 170.0]
    assert data["rules"] == "visual"
    assert data["flights"][0]["level_ft"] % 1000 == 500


def test_a_no_in_json_has_reasons_with_margins(capsys):
    _, out, _ = run(capsys, *LEG, "--json", "--people", "4", "--bags-lb", "400")
    data = json.loads(out)
    assert data["go"] is False
    assert data["reasons"]
    for reason in data["reasons"]:
        assert set(reason) == {"reason", "margin", "unit", "text"}
        assert reason["text"].startswith(reason["reason"] + ":")


@pytest.mark.parametrize(("arguments", "said"), [
    (("leg", "retractible_26", "KGRI", "KOMA"), "Did you mean 'retractable_260'?"),
    (("leg", "no_such.yaml", "KGRI", "KOMA"), "no_such.yaml: file not found"),
    (("leg", "retractable_260", "KGRl", "KOMA"), "Did you mean 'KGRI'?"),
    ((*LEG, "--wind", "banana"), "270/25"), ((*LEG, "--wind", "400/10"), "0 to 360"),
    ((*LEG, "--people", "0"), "20 people"), ((*LEG, "--people", "x"), "20 people"),
    ((*LEG, "--date", "yesterday"), "2025-07-18T14:00"), ((*LEG, "--date", "2025-07-18T14:00Z"), "without a zone"),
    ((*LEG, "--temp-dev", "100"), "-60"), ((*LEG, "--still-air", "--wind", "270/10"), "--still-air"),
    ((*LEG, "--bags-lb", "-5"), "--bags-lb"), ((*LEG, "--study", "absent.yaml"), "absent.yaml: file not found")])
def test_faults_are_told_without_a_traceback(capsys, arguments, said):
    code, out, err = run(capsys, *arguments)
    assert code == 2
    assert out == ""
    assert said in err
    assert "Traceback" not in err


def test_a_time_that_daylight_saving_skips_is_told_as_the_one_after_the_jump(capsys):
    asked, after = (json.loads(run(capsys, *LEG, "--json", "--still-air", "--date", f"2025-03-09T0{h}:30")[1])
                    for h in (2, 3))
    said = "2025-03-09 02:30 at KGRI is skipped by daylight saving; taken as 03:30 after the jump"
    assert asked.pop("notes") == [said, *after.pop("notes")]
    assert asked == after
    assert asked["date"] == "2025-03-09T03:30"


def test_help_shows_an_example(capsys):
    code, out, _ = run(capsys, "leg", "--help")
    assert code == 0
    assert "Example: missionsim leg" in out


def test_the_usual_day_gives_the_same_plan_twice(capsys):
    first, second = (run(capsys, *LEG, "--json")[1] for _ in range(2))
    assert first == second
