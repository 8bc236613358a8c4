"""Weight and balance of an aircraft on its card: a few loads as they come, and what does not fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from pydantic import ValidationError

from missionsim.aircraft.doubts import doubts
from missionsim.aircraft.loading import arrange, max_fuel_gal, weight_and_cg
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import MissionsimError
from missionsim.page.study_file import document
from missionsim.report.tables import Table
from missionsim.study.inputs.load_aircraft import fit_faults
from missionsim.study.replicate.exact_reasons import cg_limits_in

HEAD = ("Load", "Fuel, gal", "Weight, lb", "Balance at take-off, in", "Limits there, in", "Finding")


@dataclass(frozen=True, slots=True)
class Balance:
    """What a card says of weight and balance.

    Parameters
    ----------
    places : tuple of str     Of people, bags and fuel as they are flown; from the class where the file has none.
    loads : Table or None     Usual loads with all the fuel that tanks and weight allow; None without an envelope.
    warnings : tuple of str   What is out of limits, what cannot be true, what is not checked.
    """

    places: tuple[str, ...]
    loads: Table | None
    warnings: tuple[str, ...]


def balance_of(text: str, file: Path, pilot_lb: float | None, assumptions: Assumptions) -> Balance | None:
    """Return weight and balance of an aircraft by its file; None where the file is no whole aircraft yet.

    Parameters
    ----------
    text : str                Of the file.
    file : Path
    pilot_lb : float or None  As the study says; None leaves it to the assumptions.
    assumptions : Assumptions
    """
    try:
        profile = Profile.model_validate(document(file, text).data)
    except ValidationError:
        return None
    try:
        misfits = (*(f.what for f in fit_faults(file.name, profile, assumptions)), *doubts(profile, assumptions))
    except MissionsimError as error:
        misfits = (str(error),)
    if profile.envelope is None:
        return Balance(_places(profile), None, (*misfits, "No envelope: weight is held to its limits, balance is not "
                                                "checked. The flight manual has the envelope."))
    rows, out = _loads(profile, pilot_lb or assumptions["pilot.weight_lb"], assumptions)
    table = Table("Usual loads, with all the fuel that tanks and weight allow", HEAD, rows)
    return Balance(_places(profile), table, (*misfits, *out))


def _places(profile: Profile) -> tuple[str, ...]:
    def at(arm_in: float | None) -> str:
        return "" if arm_in is None else f" at {arm_in:g} in"

    rows = [f"{s.name}: {s.seats} seat{'' if s.seats == 1 else 's'}{at(s.arm_in)}" if s.kind == "seat" else
            f"{s.name}: bags up to {s.max_lb or 0.0:g} lb{at(s.arm_in)}" for s in profile.stations]
    return (*rows, *(f"{t.name}: {t.usable_gal:g} gal{at(t.arm_in)}" for t in profile.tanks))


def _loads(profile: Profile, pilot_lb: float, assumptions: Assumptions) -> tuple[tuple[tuple[str, ...], ...],
                                                                                list[str]]:
    """Return a row of words a load, and a warning for each that is out of its limits."""
    adult_lb, seats = assumptions["year.adult_weight_lb"], sum(s.seats for s in profile.stations)
    bags_lb = sum(s.max_lb or 0.0 for s in profile.stations if s.kind == "baggage")
    loads = [("the pilot alone", 1, 0.0), ("the pilot alone, bags full", 1, bags_lb)]
    loads += [("two aboard", 2, 0.0)] if seats > 2 else []
    loads += [("all seats taken", seats, 0.0)] if seats > 1 else []
    people = np.array([[pilot_lb if k == 0 else adult_lb if k < count else 0.0 for k in range(seats)]
                       for _, count, _ in loads])
    found = arrange(profile, people, [bags for *_, bags in loads], assumptions)
    fuel = np.maximum(max_fuel_gal(profile, found.zero_fuel_weight_lb, assumptions), 0.0)
    weight, cg = weight_and_cg(profile, found.zero_fuel_weight_lb, found.zero_fuel_moment_lb_in, fuel, assumptions)
    rows, out = [], []
    for k, (words, *_) in enumerate(loads):
        low, high = cg_limits_in(profile, float(weight[k]))
        told = _verdict(profile, float(weight[k]), bool(found.bags_ok[k]), float(found.balance_margin_in[k]))
        rows.append((words, f"{fuel[k]:.0f}", f"{weight[k]:,.0f}", f"{cg[k]:.1f}", f"{low:.1f} to {high:.1f}", told))
        out += [f"With {words}: {told}."] if told != "inside" else []
    return tuple(rows), out


def _verdict(profile: Profile, weight_lb: float, bags_fit: bool, margin_in: float) -> str:
    over = weight_lb - profile.max_takeoff_lb
    told: Sequence[str] = [
        *([f"{over:,.0f} lb too heavy without any fuel"] if over > 0.5 else []),
        *([] if bags_fit else ["more than its places hold"]),
        *([f"out of balance by {-margin_in:.1f} in, at take-off or when the tanks are empty"]
          if margin_in < -1e-6 else [])]
    return "; ".join(told) or "inside"
