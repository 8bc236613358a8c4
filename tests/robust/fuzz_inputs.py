"""Files of a study with random damage: every command reads them to an answer or to faults in plain words."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

from robust_cases import ran

from missionsim.study.inputs.files import demo_folder

NASTY = (
    "", "null", "~", "!!bool maybe", "!!int ''", "!!float x", "!!timestamp z", "!!binary '?'", "!!set {a, b}",
    "7" * 400, "-" + "9" * 30, "-1", "0", "1e308", "1e-320", ".nan", ".inf", "[]", "{}", "[[[]]]", "{a: {b: {c: 1}}}",
    "&a [*a]", "*nobody", "'\x1b[31mred'", "\u202etxt", "=cmd()", "@sum(1)", "2025-02-30", "2025-13-45T99:99", "'", '"',
    ": ", "\t", "\0", "\u2028", "true", "no", "0x1F", "0o17", "1_000", "12:30:45", "KGRI", "None", "nan", "a: b: c",
    "- - -", "? x", "%YAML 9.9", "---", "...", "\ufeff", "\U0001f6e9", "x" * 3_000, "1,5",
    "$12", "12 kg", "N/A", "#REF!")
COMMANDS = (("check",), ("check",), ("check",), ("trips",), ("compare", "--replications", "1", "--workers", "1"))
"""Most only read; some fly what can still be read."""


def damaged(rng: random.Random, text: str) -> str:
    """Return a text with one to four random changes of lines, words or characters."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        lines = text.split("\n")
        at = rng.randrange(len(lines))
        how = rng.choice(("word", "word", "word", "value", "value", "drop", "twice", "swap", "letter", "cut", "indent"))
        if how == "word" and lines[at].split():
            word = rng.choice(lines[at].split())
            lines[at] = lines[at].replace(word, rng.choice(NASTY), 1)
        elif how == "value" and ":" in lines[at]:
            lines[at] = f"{lines[at].partition(':')[0]}: {rng.choice(NASTY)}"
        elif how == "drop":
            del lines[at]
        elif how == "twice":
            lines.insert(at, lines[at])
        elif how == "swap":
            other = rng.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif how == "letter" and lines[at]:
            i = rng.randrange(len(lines[at]))
            lines[at] = lines[at][:i] + rng.choice("{}[],:#&*!|>'\"%@`\x00\x7f\xa0;=+-") + lines[at][i + 1:]
        elif how == "indent":
            lines[at] = rng.choice((" ", "   ", "\t", "-  ")) + lines[at]
        text = "\n".join(lines) or "x"
        if how == "cut":
            text = text[:rng.randrange(1, len(text) + 1)]
    return text


def run(seed: int, folder: Path) -> str:
    """Damage one file of a small study and read it; return what went wrong, or an empty text."""
    rng = random.Random(seed)
    home = folder / "case"
    shutil.copytree(demo_folder(), home)
    study = home / "studies" / rng.choice(("buyer.yaml", "buyer.yaml", "partnership.yaml", "charter.yaml",
                                           "ownership.yaml"))
    trips = home / "trips" / "farm_dealer.csv"
    trips.write_text("\n".join(trips.read_text(encoding="utf-8").split("\n")[:12]) + "\n", encoding="utf-8")
    victim = rng.choice((study, study, trips, home / "aircraft" / "carrier_230.yaml"))
    data = damaged(rng, victim.read_text(encoding="utf-8")).encode("utf-8", "surrogatepass")
    if rng.random() < 0.1:
        at = rng.randrange(len(data))
        data = data[:at] + bytes([rng.randrange(256)]) + data[at + 1:]
    victim.write_bytes(data)
    words = rng.choice(COMMANDS)
    if words[0] == "compare" and (study.name != "buyer.yaml" or rng.random() < 0.7):
        words = ("check",)
    told = ran(words[0], str(study), *words[1:], *(("--out", str(folder / "out")) if words[0] == "compare" else ()))
    return told.complaint()
