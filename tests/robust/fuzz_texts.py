"""Payloads in every text a person may paste, drop or name: advertisements, calendars, spreadsheets, tables."""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Callable
from pathlib import Path

from robust_cases import processor_limit, ran, write_study

from tests.robust.fuzz_inputs import NASTY, damaged

HOSTILE = ('"><script>alert(1)</script>', "<img src=x onerror=alert(1)>", "</style><script>x</script>",
           "javascript:alert(1)", "{{7*7}}{% raw %}", "=HYPERLINK(1)", "+1+1", "-1+1", "@x", "'=1",
           "\x1b]0;x\x07", "\u202etxt.exe", "\u2066x",
           "a\u0301" * 200, "\ufdfd" * 50, "\u0660\u0661", "\u00b2", "\U000e0001x", "../../etc/passwd", "CON", "nul\0l",
           "%s%n%d", "$(id)`id`", "'; drop table x", "a\rb", "a\u2029b", "\ufeffx", "\ufffe", "x" * 5_000,
           "1" + " " * 5_000 + "x", "KOMA " * 900, "1.1.1" * 300, "\n" * 300, "((" * 900, "--" * 900)
SECONDS = 20.0
"""Of processor time; whatever is pasted is told sooner what is wrong with it."""
EVENT = ("BEGIN:VEVENT", "UID:1", "DTSTART:20250304T080000", "DTEND:20250305T170000", "SUMMARY:Fly to KOMA",
         "LOCATION:Omaha\\, NE", "RRULE:FREQ=WEEKLY;COUNT=3", "END:VEVENT")
LINES = ("DTSTART;VALUE=DATE:20250304", "DTSTART:99991231T235959", "DTSTART:00010101",
         "DTSTART;TZID=Nowhere/x:20250304T080000", "DTSTART:20250304T080000Z", "DTEND:20240101",
         "DURATION:P99999999999D", "DURATION:-P1D", "DURATION:PT1H", "DURATION:x",
         "RRULE:FREQ=DAILY;INTERVAL=-1", "RRULE:FREQ=SECONDLY",
         "RRULE:FREQ=DAILY;INTERVAL=0;BYMONTH=2;BYMONTHDAY=30",
         "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "RRULE:FREQ=X", "RRULE:", "RRULE:FREQ=DAILY;COUNT=-1",
         "RRULE:FREQ=DAILY;UNTIL=20990101T000000Z", "RRULE:FREQ=WEEKLY;BYDAY=XX",
         "RRULE:FREQ=DAILY;COUNT=999999999999999999999", "EXDATE:20250304T080000",
         "EXDATE;VALUE=DATE:20250304,20250305", "EXDATE:x", "STATUS:CANCELLED", "STATUS:\u202e",
         "BEGIN:VEVENT", "END:VEVENT", "END:VCALENDAR", "BEGIN:VALARM", "BEGIN:VTIMEZONE", 'X-A;B="c:d',
         "RDATE:20250401", "RECURRENCE-ID:20250304T080000", "SUMMARY;LANGUAGE=en:a\\nb", " folded", "LOCATION:KOMA",
         "GEO:1;2", "GEO:x")
ROW = ("2025-03-04", "08:30", "KOMA", "2025-03-05", "2", "dealer")
HEADINGS = ("date", "time", "to", "return", "adults", "purpose")
AD = ("1978 four place retractable, 260 HP.", "TTAF 4,312 SMOH 812.", "UL 1,180 lbs.", "$164,900", "Fresh annual 3/25",
      "IFR WAAS", "No damage history", "compressions 76/75/77/74", "cruise 165 kts at 8,000 ft, 14.1 gph",
      "75 gal usable")


def run(seed: int, folder: Path) -> str:
    """Give one odd text to a command that reads it; return what went wrong, or an empty text."""
    rng = random.Random(seed)
    if rng.random() < 0.3:
        words = " ".join(_with_payloads(rng, AD))
        place = folder / "words.txt"
        place.write_bytes((damaged(rng, words) if rng.random() < 0.5 else words).encode("utf-8", "surrogatepass"))
        command = rng.choice((["check", "--advertisement", str(place)],
                              ["new", str(folder / "made"), "--home", "KGRI", "--fly", _payload(rng)[:200] + " 12",
                               "--fly", "Omaha, NE 12", "--advertisement", str(place), "--no-questions"]))
    else:
        name, data = table(rng)
        place = folder / name
        place.write_bytes(data)
        command = ["check", str(place), *(("--home", "KGRI") if rng.random() < 0.7 else ())]
        if rng.random() < 0.4:
            study = write_study(folder, None, trips={"file": name, "rows": rng.choice(("trips", "legs"))})
            command = [rng.choice(("check", "trips")), str(study)]
    try:
        with processor_limit(SECONDS):
            return told if (told := ran(*command).complaint()) else ""
    except TimeoutError:
        return f"{command}: more than {SECONDS:g} s of processor time"


def table(rng: random.Random) -> tuple[str, bytes]:
    """Return the name and the bytes of an odd calendar, spreadsheet or table."""
    return rng.choice((_calendar, _calendar, _spreadsheet, _spreadsheet, _table))(rng)


def _payload(rng: random.Random) -> str:
    return rng.choice((*NASTY, *HOSTILE))


def _with_payloads(rng: random.Random, parts: tuple[str, ...]) -> list[str]:
    found = list(parts)
    for _ in range(rng.choice((1, 1, 3))):
        at = rng.randrange(len(found))
        found[at] = rng.choice((_payload(rng), found[at] + _payload(rng), _payload(rng) + found[at]))
    return found


def _calendar(rng: random.Random) -> tuple[str, bytes]:
    lines = list(EVENT) * rng.choice((1, 1, 2, 50))
    for _ in range(rng.choice((1, 2, 4))):
        at = rng.randrange(len(lines))
        new = rng.choice((*LINES, *LINES, lines[at].partition(":")[0] + ":" + _payload(rng)))
        lines[at:at + rng.choice((0, 1))] = [new]
    text = "\r\n".join(["BEGIN:VCALENDAR", "VERSION:2.0", *lines, "END:VCALENDAR", ""])
    if rng.random() < 0.3:
        text = damaged(rng, text)
    return rng.choice(("a.ics", "a.ical")), text.encode("utf-8", "surrogatepass")


def _table(rng: random.Random) -> tuple[str, bytes]:
    mark = rng.choice((",", ",", ";", "\t", "|"))
    rows = [mark.join(_with_payloads(rng, HEADINGS) if rng.random() < 0.2 else HEADINGS)]
    rows += [mark.join(_with_payloads(rng, ROW)) for _ in range(rng.choice((1, 3, 40)))]
    text = "\n".join(rows)
    return rng.choice(("a.csv", "a.tsv", "a.txt")), (damaged(rng, text) if rng.random() < 0.5 else text).encode(
        rng.choice(("utf-8", "utf-8", "utf-16")), "surrogatepass")


def _spreadsheet(rng: random.Random) -> tuple[str, bytes]:
    """Return a workbook whose cells hold payloads, or whose insides are damaged."""
    from openpyxl import Workbook
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
    book = Workbook()
    for row in (HEADINGS, *(_with_payloads(rng, ROW) for _ in range(3))):
        cells = (cell.encode("utf-8", "replace").decode()[:30_000] for cell in row)
        book.active.append([ILLEGAL_CHARACTERS_RE.sub("", cell) for cell in cells])
    made = io.BytesIO()
    book.save(made)
    data = made.getvalue()
    how = rng.choice((_as_it_is, _bytes_changed, _parts_changed, _parts_changed, _parts_changed))
    return rng.choice(("a.xlsx", "a.xlsx", "a.xlsm")), how(rng, data)


def _as_it_is(rng: random.Random, data: bytes) -> bytes:
    return data


def _bytes_changed(rng: random.Random, data: bytes) -> bytes:
    changed = bytearray(data)
    for _ in range(rng.choice((1, 3, 20))):
        changed[rng.randrange(len(changed))] = rng.randrange(256)
    return bytes(changed[:rng.choice((len(changed), rng.randrange(len(changed))))])


MARKUP: tuple[Callable[[random.Random, str], str], ...] = (
    lambda rng, text: text.replace('ref="A1', 'ref="A1:XFD1048576" x="', 1),
    lambda rng, text: text.replace('<row r="2"', f'<row r="{rng.choice(("1048576", "9" * 14, "-1", "x", "0"))}"', 1),
    lambda rng, text: text.replace('r="A2"', f'r="{rng.choice(("ZZZZZZ1", "XFD1", "A9999999999", "1", "A-1"))}"', 1),
    lambda rng, text: text.replace('t="inlineStr"', f't="{rng.choice(("s", "d", "e", "b", "n", "zz"))}"', 1),
    lambda rng, text: text.replace("<v>0</v>", f"<v>{rng.choice(('99999', '-1', '', 'x', '1e999', 'nan'))}</v>", 1),
    lambda rng, text: text.replace("<sheetData>", "<sheetData>" + '<row r="7"/>' * rng.choice((1, 50_000)), 1),
    lambda rng, text: text.replace("sheet1", "sheet9"), lambda rng, text: "", lambda rng, text: text[:len(text) // 2],
    lambda rng, text: text.replace("?>", '?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>', 1),
    lambda rng, text: text.replace("worksheet", "chartsheet"),
    lambda rng, text: text.replace('count="', 'count="x', 1),
    lambda rng, text: text.replace("</", "<" * rng.choice((1, 900)), 1), damaged)


def _parts_changed(rng: random.Random, data: bytes) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        names = old.namelist()
        victims = {rng.choice((*names, "xl/worksheets/sheet1.xml", "xl/worksheets/sheet1.xml")) for _ in range(2)}
        for name in names:
            text = old.read(name).decode("utf-8")
            if name in victims:
                text = rng.choice(MARKUP)(rng, text)
            if name not in victims or rng.random() < 0.9:
                new.writestr(name, text.encode("utf-8", "surrogatepass"))
    return made.getvalue()
