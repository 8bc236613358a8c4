from __future__ import annotations

import codecs

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import InputError
from missionsim.study.inputs.files import TextFile, read_text
from missionsim.study.inputs.yaml_lines import parse_yaml, read_yaml


def text_file(tmp_path, text):
    return TextFile(tmp_path / "a.yaml", "a.yaml", text, "0")


def refused(tmp_path, content):
    path = tmp_path / "a.yaml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(InputError) as caught:
        read_yaml(path, "a.yaml")
    return caught.value.faults


def test_every_key_path_has_its_line(tmp_path):
    document = parse_yaml(text_file(tmp_path, "# note\na: 1\nb:\n  c: [1, 2]\n  d:\n    - x: 1\n    - x: 2\n"))
    assert document.data == {"a": 1, "b": {"c": [1, 2], "d": [{"x": 1}, {"x": 2}]}}
    assert [document.line(p) for p in (("a",), ("b", "c"), ("b", "d", 0, "x"), ("b", "d", 1, "x"))] == [2, 4, 6, 7]
    assert document.line(("b", "d", 1, "nothing")) == 7  # the part above it


def test_a_fault_names_the_key_as_people_count(tmp_path):
    document = parse_yaml(text_file(tmp_path, "b:\n  - x: 1\n  - x: 2\n"))
    assert str(document.fault(("b", 1, "x"), "is 2", "3")) == "a.yaml:3: b[2].x: is 2; accepted: 3."


def test_a_syntax_error_is_one_fault_with_its_line(tmp_path):
    faults = refused(tmp_path, "a: 1\nb: [1, 2\nc: 3\n")
    assert len(faults) == 1
    assert faults[0].line == 3
    assert "not valid YAML" in faults[0].what


def test_a_tab_is_named(tmp_path):
    faults = refused(tmp_path, "a:\n\tb: 1\n")
    assert "tab" in str(faults[0])


def test_a_key_given_twice_is_a_fault_with_both_lines(tmp_path):
    faults = refused(tmp_path, "a: 1\nb: 2\na: 3\nc: {d: 1, d: 2}\n")
    assert [(f.key, f.line) for f in faults] == [("a", 3), ("c.d", 4)]
    assert "first in line 1" in faults[0].what


def test_python_objects_are_never_built(tmp_path):
    faults = refused(tmp_path, "a: !!python/object/apply:os.getcwd []\n")
    assert "could not determine a constructor" in faults[0].what
    assert faults[0].line == 1


def test_an_alias_bomb_is_refused_before_it_is_written_out(tmp_path):
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 12)]
    faults = refused(tmp_path, "\n".join(lines))
    assert faults[0].what.startswith("is too large once its aliases are written out")


def test_an_alias_inside_what_it_names_is_refused(tmp_path):
    assert "stands inside what it names" in refused(tmp_path, "a: &x [1, *x]\n")[0].what


def test_an_honest_alias_works(tmp_path):
    document = parse_yaml(text_file(tmp_path, "a: &x {p: 1}\nb: *x\nc: {<<: *x, q: 2}\n"))
    assert document.data["b"] == {"p": 1}
    assert document.data["c"] == {"p": 1, "q": 2}


def test_deep_nesting_is_refused(tmp_path):
    assert refused(tmp_path, "a: " + "[" * 500 + "]" * 500)[0].what == "is nested too deeply"


@pytest.mark.parametrize("content", [b"", b"# only a note\n", b"- 1\n- 2\n", b"just words\n", b"42\n"])
def test_anything_but_a_table_is_refused(tmp_path, content):
    assert len(refused(tmp_path, content)) == 1


def test_two_documents_in_a_file_are_refused(tmp_path):
    assert "not valid YAML" in refused(tmp_path, "a: 1\n---\nb: 2\n")[0].what


def test_an_impossible_date_is_a_fault(tmp_path):
    fault = refused(tmp_path, "a: 1\nb: {c: [x, 2025-02-30]}\n")[0]
    assert "cannot be read" in fault.what
    assert fault.line == 2


@pytest.mark.parametrize("encode", [
    lambda t: t.encode(), lambda t: codecs.BOM_UTF8 + t.encode(), lambda t: t.encode("utf-16"),
    lambda t: t.replace("\n", "\r\n").encode(),
])
def test_usual_encodings_are_read(tmp_path, encode):
    path = tmp_path / "a.yaml"
    path.write_bytes(encode("name: Café\nb: 2\n"))
    document = read_yaml(path)
    assert document.data == {"name": "Café", "b": 2}
    assert document.file.notes == ()


def test_windows_text_is_read_with_a_note(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_bytes("a: 1\nname: Café – bar\n".encode("cp1252"))
    document = read_yaml(path)
    assert document.data["name"] == "Café – bar"
    assert "line 2" in document.file.notes[0]


@pytest.mark.parametrize(("content", "words"), [
    (b"PK\x03\x04rest", "save it as CSV"), (b"a: \x00", "zero bytes"), (b"a: \x81\n", "neither UTF-8"),
    (b"\x1f\x8b0", "compressed"),
])
def test_what_is_no_text_says_so(tmp_path, content, words):
    assert words in str(refused(tmp_path, content)[0])


def test_a_file_that_is_not_there_offers_a_near_name(tmp_path):
    (tmp_path / "study.yaml").write_text("a: 1\n")
    with pytest.raises(InputError, match=r"file not found\. Did you mean 'study\.yaml'"):
        read_text(tmp_path / "studdy.yaml")


def test_a_folder_and_a_huge_file_are_refused(tmp_path):
    with pytest.raises(InputError, match=r": is a folder; accepted: a file\.$"):
        read_text(tmp_path)
    path = tmp_path / "big.yaml"
    path.write_bytes(b"a: 1\n" * 500_000)
    with pytest.raises(InputError, match=r": is 2\.5 MB long; accepted: at most 2 MB"):
        read_yaml(path)


@given(st.text(alphabet=st.sampled_from("ab: -[]{}&*!|>#'\"\n\t,1.\u00e9<%@`~"), max_size=60))
def test_any_text_is_read_as_the_safe_loader_reads_it_or_refused(text):
    from pathlib import Path
    try:
        document = parse_yaml(TextFile(Path("a.yaml"), "a.yaml", text, "0"))
    except InputError as error:
        assert error.faults  # noqa: PT017
        return
    assert repr(document.data) == repr(yaml.safe_load(text))
