"""A study made in a program, with the checks of a study file: from a table of trips and mappings, no files left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pandas as pd
import yaml

from missionsim.base.errors import Fault, InputError, near_match
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import Study, load_study
from missionsim.study.inputs.overlays import merged
from missionsim.study.inputs.schema import Prices, StudySpec

STUDY, CHANGED, TRIPS = "study.yaml", "changed.yaml", "trips.csv"


def make_study(*, home: str, trips: pd.DataFrame | Sequence[Mapping[str, Any]], candidates: Sequence[Any],
               study: str = "study", **keys: Any) -> Study:
    """Return a study as if its file had been read: the same checks, every fault at once.

    Parameters
    ----------
    home : str             Identifier of the home airport.
    trips : DataFrame      One row a trip, columns as in a trip list: `date, to, return, adults ...`; or mappings.
    candidates : sequence  Each an aircraft file, the mapping that such a file holds, or the mapping of a candidate with
                           `aircraft` as either.
    study : str            Name.
    **keys                 Any other key of a study file: `pilot`, `prices`, `replications`, `assumptions` ...

    Raises
    ------
    InputError             Faults, named by `study.yaml`, `trips.csv` and `aircraft-1.yaml` and so on.
    """
    texts = {TRIPS: pd.DataFrame(trips).to_csv(index=False)}
    data = {"study": study, "home": home, "trips": TRIPS, "candidates": _candidates(candidates, texts), **keys}
    texts[STUDY] = yaml.safe_dump(data, sort_keys=False, allow_unicode=True)
    return _loaded(texts, STUDY)


def changed(study: Study, **changes: Any) -> Study:
    """Return a study with some keys changed, read and checked again.

    Parameters
    ----------
    study : Study
    **changes   Keys of a study file; a mapping changes only what it names. Prices may be named by themselves
                (`fuel_usd_per_gal=9.0`); assumptions go under `assumptions={"cost.car_usd_per_sm": 0.5}`.

    Raises
    ------
    InputError  An unknown key, with the nearest known one, or any fault that a study file would have.
    """
    prices, known = list(Prices.model_fields), list(StudySpec.model_fields)
    unknown = [key for key in changes if key not in known and key not in prices]
    if unknown:
        raise InputError([Fault("with_", key, "is no key of a study, and no price", "a key of a study file",
                                near_match(key, [*known, *prices])) for key in unknown])
    texts = dict(study.texts)
    data = {key: value for key, value in changes.items() if key in known}
    if any(key in prices for key in changes):
        data["prices"] = {**data.get("prices", {}), **{k: v for k, v in changes.items() if k in prices}}
    if "candidates" in data:
        data["candidates"] = _candidates(data["candidates"], texts)
    if isinstance(data.get("trips"), pd.DataFrame):
        texts["changed_trips.csv"], data["trips"] = data["trips"].to_csv(index=False), "changed_trips.csv"
    base = STUDY if study.texts else str((study.path or demo_folder() / "studies" / "buyer.yaml").resolve())
    if CHANGED in texts:            # changed before: what it says stays unless said anew
        data, base = merged(yaml.safe_load(texts[CHANGED]), data), yaml.safe_load(texts[CHANGED])["extends"]
    texts[CHANGED] = yaml.safe_dump({**data, "extends": base}, sort_keys=False, allow_unicode=True)
    return _loaded(texts, CHANGED)


def _candidates(given: Sequence[Any], texts: dict[str, str]) -> list[Any]:
    """Return candidates as a study file lists them; aircraft given as mappings become texts of their own."""
    made = []
    for one in given:
        own = dict(one) if isinstance(one, Mapping) and "aircraft" in one else {"aircraft": one}
        aircraft = own["aircraft"]
        if isinstance(aircraft, Mapping):
            name = f"aircraft-{sum(n.startswith('aircraft-') for n in texts) + 1}.yaml"
            texts[name] = yaml.safe_dump(dict(aircraft), sort_keys=False, allow_unicode=True)
            own["aircraft"] = name
        elif str(aircraft) not in texts:
            own["aircraft"] = str(Path(aircraft).expanduser().resolve())
        made.append(own)
    return made


def _loaded(texts: Mapping[str, str], name: str) -> Study:
    with TemporaryDirectory() as folder:
        for file, text in texts.items():
            (Path(folder) / file).write_text(text, encoding="utf-8")
        try:
            found = load_study(Path(folder) / name)
        except InputError as error:
            raise InputError([replace(f, file=_short(f.file, folder)) for f in error.faults]) from None
    hashes = {_short(file, folder): digest for file, digest in found.hashes.items()}
    candidates = tuple(replace(c, file=_short(c.file, folder)) for c in found.candidates)
    return replace(found, file=name, path=None, texts=dict(texts), hashes=hashes, candidates=candidates)


def _short(file: str, folder: str) -> str:
    return file.removeprefix(folder).lstrip("/\\") if file.startswith(folder) else file
