"""The airport table of a study: packaged or from a newer download, with the user's own and corrected airports."""

from __future__ import annotations

import io
from typing import Any

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import MOST_TOLD, Fault, InputError, MissionsimError
from missionsim.study.inputs.faults import salvaged
from missionsim.study.inputs.files import read_text
from missionsim.study.inputs.overlays import Layers
from missionsim.study.inputs.schema import AirportSpec
from missionsim.world.airports.table import AirportTable

DOWNLOAD_BYTES = 200_000_000


def load_airports(layers: Layers, assumptions: Assumptions, faults: list[Fault]) -> AirportTable:
    """Return the airports of a study; what is wrong goes to `faults` and the table does without it.

    Parameters
    ----------
    layers : Layers             The study; keys `airports`, `airports_file`, `runways_file`.
    assumptions : Assumptions   Group `airport`.
    faults : list of Fault      Collected here.
    """
    table = _base(layers, assumptions, faults)
    items = layers.data.get("airports")
    if not isinstance(items, dict):
        return table
    corrections: dict[str, dict[str, Any]] = {}
    for ident, fields in items.items():
        spec = salvaged(AirportSpec, fields)
        if spec is not None and _usable(layers, table, str(ident), spec, faults):
            corrections[str(ident)] = spec.corrections()
    return table.with_corrections(corrections)


def _usable(layers: Layers, table: AirportTable, ident: str, spec: AirportSpec, faults: list[Fault]) -> bool:
    """Return whether a correction can be applied; a new airport needs a place and a runway."""
    ok = 2 <= len(ident.strip()) <= 8 and ident.strip().replace("-", "").isalnum()
    if not ok:
        what = f"{ident[:40]!r} is no identifier"
        faults.append(layers.fault(("airports", ident), what, "2 to 8 letters and digits"))
        return False
    try:
        table.index(ident)
    except MissionsimError as error:
        lacking = spec.lacking_for_new()
        if lacking:
            near = str(getattr(error, "near", "")) if len(faults) < MOST_TOLD else ""
            faults.append(layers.fault(("airports", ident), "is not in the airport data, and a new airport needs "
                                       f"{', '.join(lacking)}", "the identifier of a known airport, or those fields",
                                       near))
        return not lacking
    return True


def _base(layers: Layers, assumptions: Assumptions, faults: list[Fault]) -> AirportTable:
    names = [layers.data.get(key) for key in ("airports_file", "runways_file")]
    if not all(isinstance(name, str) and name for name in names):
        return AirportTable.packaged(assumptions)
    from missionsim.world.airports.download import (  # noqa: PLC0415  (pandas, which workers do without)
        read_frame,
        table_from_frames,
    )
    frames = []
    shorts = []
    for key, name in zip(("airports_file", "runways_file"), names, strict=True):
        path, short = layers.resolve((key,), str(name))
        shorts.append(short)
        try:
            text = read_text(path, short, DOWNLOAD_BYTES)
            frames.append(read_frame(io.StringIO(text.text)))
        except InputError as error:
            faults += [layers.fault((key,), f"{short}: {f.what}", f.accepted, f.near) for f in error.faults]
        except ValueError as error:
            faults.append(Fault(short, "", f"is not a readable table ({str(error)[:120]})"))
    if len(frames) < 2:
        return AirportTable.packaged(assumptions)
    try:
        return table_from_frames(frames[0], frames[1], assumptions, (shorts[0], shorts[1]))
    except InputError as error:
        faults += error.faults
        return AirportTable.packaged(assumptions)
