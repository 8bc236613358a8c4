"""Odd requests to the page, on a study that may be damaged: an answer or a refusal, files whole, text shown as text."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path
from typing import Any

from page_cases import NoJob, let_in
from robust_cases import processor_limit

from missionsim.base.errors import MissionsimError
from missionsim.page import fields, shared_file
from missionsim.page.routes import Page
from missionsim.page.study_folder import StudyFolder
from missionsim.study.inputs.files import demo_folder
from tests.robust.fuzz_inputs import NASTY, damaged
from tests.robust.fuzz_texts import HOSTILE, table

REQUESTS = 12
FINE = {200, 202, 204, 400, 404, 405, 409, 413, 422}
TEXTS = (*NASTY, *HOSTILE, " " * 300_000 + "x", "1" + " " * 300_000 + "x", "0" * 300_000, "a, " * 50_000, "KOMA", "12",
         "unknown", "1 / 2 / 3", "1 to 2", "yes", "Omaha, NE", "2025-03-04", "none")
PATHS = [f.path for group in (fields.STUDY, fields.PILOT, fields.PRICES, fields.HABITS, fields.LIMITS,
                              fields.MORE_PRICES) for f in group]
SHARED = [f.path for group in (shared_file.BOOKING, shared_file.SHARING, shared_file.TERMS, shared_file.CREW)
          for f in group]
LISTS = ("demand", "candidates", "stations", "tanks", "members.people", "members.people.0.demand", "outside.requests",
         "rental.rates", "home", "members", "x.y")
COLUMNS = [f.path for group in (shared_file.DEMAND, shared_file.REQUESTS, shared_file.PERSON, fields.STATIONS,
                                fields.TANKS) for f in group]
CARDS = ("a1", "a2", "a9", "", "partners", "rates", "../x", "\u00b2")
ODD_PATHS = ("candidates.\u00b2", "candidates.9.name", "home.9.name", "a.b.c.d.e.f.g", "..", "", "x." * 3_000, "9",
             "home.0", "members.people.7.name", "name", "weights.max_takeoff_lb", "envelope", "stations.0.arm_in",
             "tanks.5", "prices.asking_price_usd", "identity.year",
             "engine.hours_since_overhaul_h", "trips", "extends", "seed")
BODIES = (b"", b"[]", b"{", b"\xff\xfe", b"[" * 100_000, b'{"a":' * 50_000, b'{"text":' + b"9" * 5_000 + b"}",
          b'{"path":"study","text":"\\ud800"}', b'{"path":"study","text":"a","was":3}', b'"x"', b"null", b"NaN",
          b'{"text":1e999,"path":"study"}', b'{"rows":[{"date":{"a":1}}]}',
          b'{"rows":' + b"[" * 900 + b"]" * 900 + b"}")
PARTS = ("/", "/year", "/hangar", "/verdict", "/shared/partners", "/shared/rates", "/state", "/screen", "/sheet",
         "/study.zip", "/tables.xlsx", "/kept", "/two-runs?first=now&second=%00", "/airports?text=%00%ff", "/trip/0",
         "/results/run.json", "/results/..%2fstudies%2fbuyer.yaml", "/static/..%2froutes.py", "/elsewhere")


def run(seed: int, folder: Path) -> str:
    """Send some requests to the page of one study; return what went wrong, or an empty text."""
    rng = random.Random(seed)
    home = shutil.copytree(demo_folder(), folder / "case")
    study = home / "studies" / rng.choice(("buyer.yaml", "buyer.yaml", "partnership.yaml", "charter.yaml", "new.yaml"))
    if study.exists() and rng.random() < 0.4:
        victim = rng.choice((study, home / "aircraft" / "carrier_230.yaml", home / "trips" / "farm_dealer.csv"))
        victim.write_bytes(damaged(rng, victim.read_text(encoding="utf-8")).encode("utf-8", "surrogatepass"))
    try:
        opened = StudyFolder.opened(study) if study.exists() else StudyFolder(study)
    except MissionsimError:
        return ""
    except Exception as error:
        return f"opening {study.name}: {error!r}"
    client = let_in(Page(opened, NoJob()))
    if wrong := next((w for _ in range(REQUESTS) if (w := _asked(client, rng))), ""):
        return wrong
    return _files_whole(study)


def _asked(client: Any, rng: random.Random) -> str:
    """Send one request and look at a part of the page."""
    where, given = _request(rng)
    told = f"{where} {json.dumps(given)[:300] if 'content' not in given else given['content'][:120]!r}"
    try:
        with processor_limit(20.0):
            answer = client.post(where, **given)
            part = rng.choice(PARTS) if where.startswith("/drop") or answer.status_code != 200 else "/hangar"
            page = client.get(part)
            year = client.get(rng.choice(("/year", "/verdict")))
    except Exception as error:      # (the client hands on what a server would tell as a fault of its own)
        return f"{told}: {error!r}"
    for got in (answer, page, year):
        if got.status_code not in FINE:
            return f"{told}, then {part}: {got.status_code} {got.text[:300]}"
        if "html" in got.headers.get("content-type", "") and any(t in got.text for t in HOSTILE if "<" in t):
            return f"{told}: {part} shows it as it stands"
    return ""


def _request(rng: random.Random) -> tuple[str, dict[str, Any]]:
    """Return where something is sent, and what."""
    what = rng.choice(("value", "value", "value", "figure", "entry", "entry", "remove-entry", "cell", "remove-trip",
                       "aircraft", "advertised", "remove-aircraft", "year-by", "trips", "drop", "drop", "match",
                       "match", "advertisement", "slide", "begin", "fly", "keep", "forget", "body", "body"))
    text, card = rng.choice(TEXTS), rng.choice(CARDS)
    path = rng.choice([*(SHARED if card in ("partners", "rates") else PATHS), *PATHS, *ODD_PATHS])
    row = {rng.choice(("date", "to", "return", "purpose", "adults", "bags_lb", "x", "member")): rng.choice(TEXTS)
           for _ in range(3)}
    changes: dict[str, Any] = {
        "value": {"card": rng.choice(("", "", card)), "path": path, "text": text, "was": rng.choice((None, None, "x"))},
        "figure": {"card": card, "path": rng.choice((path, *ODD_PATHS)), "text": text},
        "entry": {"card": card, "path": rng.choice(LISTS),
                  "cells": {rng.choice((*COLUMNS, "to.x", "to", "\u00b2")): rng.choice(TEXTS) for _ in range(4)}},
        "remove-entry": {"card": card, "path": rng.choice(LISTS), "number": rng.choice((0, 1, -1, 10**30)),
                         "was": text},
        "cell": {"row": rng.choice(("t1", "t2", "line 3", text)), "text": text,
                 "column": rng.choice(("date", "to", "purpose", "adults", "x"))},
        "remove-trip": {"row": rng.choice(("t1", text))}, "remove-aircraft": {"card": card},
        "year-by": {"text": rng.choice(("often", "list"))},
        "aircraft": {"text": rng.choice((text, f"name: {text}\nx: {rng.choice(TEXTS)}\n",
                                         json.dumps({"name": text, "identity": {"year": rng.choice(TEXTS)}})))},
        "advertised": {"text": f"1978 four place, 260 hp, {text}", "name": rng.choice(TEXTS), "accepted": [text]}}
    if what in changes:
        return f"/change/{what}", {"json": changes[what]}
    others: dict[str, tuple[str, dict[str, Any]]] = {
        "trips": ("/trips", {"json": {"rows": [row, {"date": "2025-03-04", "to": "KOMA"} | row]}}),
        "match": ("/match", {"json": {"columns": {rng.choice(("date", "to", "x")): rng.choice(("date", "to", text))
                                                  for _ in range(2)},
                                      "rows": rng.choice(("trips", "legs")), "take": rng.random() < 0.5}}),
        "advertisement": ("/advertisement", {"json": {"text": text[:20_000]}}),
        "slide": ("/slide", {"json": {rng.choice(("fuel", "x")): text}}),
        "begin": (f"/shared/{rng.choice(('partners', 'rates', 'x'))}/begin", {"json": {}}),
        "fly": ("/fly", {"json": {"years": text}}), "keep": ("/keep", {"json": {"name": text, "shown": 0}}),
        "forget": ("/forget", {"json": {"run": text}}),
        "body": (rng.choice(("/change/value", "/change/figure", "/trips", "/match", "/slide", "/keep", "/change/x")),
                 {"content": rng.choice(BODIES)})}
    if what in others:
        return others[what]
    name, data = table(rng)
    odd = rng.choice((name, name, name, "\0.csv", "..", "x" * 190 + "\u00e9" * 9 + ".csv", "a/b\\c.ics", text[:200]))
    return "/drop", {"content": data, "params": {"name": odd}}


def _files_whole(study: Path) -> str:
    """Return what is wrong with the files that are left: half written ones, or a study the page cannot open again."""
    left = [path.name for path in study.parent.rglob("*.part")]
    if left:
        return f"left behind: {left}"
    try:
        if study.exists():
            StudyFolder.opened(study)
    except Exception as error:
        return f"opened again: {error!r}"
    return ""
