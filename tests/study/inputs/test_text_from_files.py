"""Text of files that would drive a terminal, and numbers too large, are refused with file, line and character."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from robust_cases import RETRACTABLE

from missionsim.base.errors import Fault, InputError, commanding, printable
from missionsim.study.inputs.load_study import load_study

ODD = {"escape": ("\x1b[31m", "U+001B"), "bell": ("a\x07b", "U+0007"), "override": ("a\u202eb", "U+202E"),
       "isolate": ("\u2067a", "U+2067"), "line separator": ("a\u2028b", "U+2028"), "delete": ("a\x7f", "U+007F"),
       "next line": ("a\x85b", "U+0085"), "mark": ("\u200fa", "U+200F")}


def study(folder: Path, name: str = "s", extra: str = "", purpose: str = "") -> Path:
    (folder / "trips.csv").write_text(f"date,to,purpose\n2025-03-04,KOMA,{purpose}\n", encoding="utf-8")
    path = folder / "study.yaml"
    quoted = json.dumps(name, ensure_ascii=bool(commanding(name)))
    path.write_text(f"study: {quoted}\nhome: KGRI\ntrips: trips.csv\ncandidates: [{RETRACTABLE}]\n{extra}",
                    encoding="utf-8")
    return path


def faults(path: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        load_study(path)
    return str(caught.value).splitlines()


@pytest.mark.parametrize("kind", ODD)
def test_characters_that_command_are_refused_in_yaml_and_in_tables(tmp_path: Path, kind: str) -> None:
    text, code = ODD[kind]
    assert commanding(text) == code
    path = study(tmp_path, name=text)
    assert faults(path) == [f"{path}:1: study: holds the character {code}; accepted: plain text."]
    if "\u2028" not in text and "\x85" not in text:     # which end a line of a table
        path = study(tmp_path, purpose=text)
        (line,) = faults(path)
        assert line.endswith(f"trips.csv:2: purpose: holds the character {code}; accepted: plain text.")


@pytest.mark.parametrize("text", ["Bürö", "日本語", "עברית", "👩🏽‍🌾 farm", "a b", "=1+1", "x"])
def test_words_of_any_script_are_words(tmp_path: Path, text: str) -> None:
    assert commanding(text) == ""
    assert load_study(study(tmp_path, name=text, purpose=text)).name == text


def test_names_stand_on_one_line_and_a_question_may_be_folded(tmp_path: Path) -> None:
    path = study(tmp_path, name="a\nb")
    assert faults(path) == [f"{path}:1: study: is 'a\\nb'; accepted: a name on one line."]
    assert load_study(study(tmp_path, extra="question: |\n  one\n  two\n")).spec.question == "one\ntwo"


@pytest.mark.parametrize("key", ["seed", "year", "replications", "value_of_time_usd_per_h", "assumptions"])
def test_a_number_of_400_digits_is_refused_wherever_it_stands(tmp_path: Path, key: str) -> None:
    assert f"{key}: is a number of 400 digits; accepted: a number of at most 300 digits." in faults(
        study(tmp_path, extra=f"{key}: {'7' * 400}\n"))[0]


@pytest.mark.parametrize("value", ["!!bool maybe", "!!int ''", "!!float x", "!!timestamp z"])
def test_values_that_are_not_what_their_tag_says_are_refused_with_their_line(tmp_path: Path, value: str) -> None:
    (line,) = faults(study(tmp_path, extra=f"assumptions:\n  runway.margin: {value}\n"))
    assert "study.yaml:6: " in line
    assert "cannot be read" in line


def test_long_keys_are_told_once_and_cut() -> None:
    said = str(Fault("f.yaml", "k" * 300, f"unknown key {'k' * 300!r}", "a, b", "k" * 299, 3))
    assert said.startswith("f.yaml:3: " + "k" * 100 + "...: unknown key '" + "k" * 99 + "...; accepted: a, b.")
    assert len(said) < 500


def test_what_is_printed_commands_nothing() -> None:
    assert printable("a\x1b[31m\u202eb\nc") == "a?[31m?b?c"
