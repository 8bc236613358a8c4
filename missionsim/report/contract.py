"""The object that `compare --json` prints: its keys are a promise to other programs."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, is_dataclass
from typing import Any

import numpy as np

from missionsim.report.origins import origin_of_figures
from missionsim.report.refusals import refusal_entry
from missionsim.study.compare.alternatives import Alternatives
from missionsim.study.compare.compare import CONTRACT_VERSION, Comparison, Result
from missionsim.study.compare.trip_worth import trip_worth

MEASURES = ("trips_wanted", "completed_share", "delayed_share", "broken_off_share", "moved_share", "adapted_share",
            "marginal_share", "as_asked_share", "shop_days", "trips_lost_to_shop", "stranded", "nights_stranded",
            "flight_hours", "block_hours", "door_to_door_hours", "party_hours", "trips_faster", "trips_equal",
            "trips_slower", "trips_by_other_means", "trips_given_up", "trips_off_dates", "must_go_lost", "car_usd",
            "airline_usd", "nights_away_forced", "flights", "fuel_stops", "fuel_gal", "local_hours",
            "trips_not_current", "cost_usd", "net_cost_usd", "net_cost_at_likely_prices_usd", "cost_per_hour_usd",
            "cost_per_completed_trip_usd", "dearest_quarter_usd")
"""Measures of a candidate, each `{mean, low, high, p10, p50, p90}`."""

OPTIONAL = ("find_out", "by_share_wanted", "tipping_points", "bars", "offers", "decided_before", "stopping",
            "rent_or_own", "upgrades", "annual_months", "grid")
"""Fields of a `Comparison` that are printed when it has them."""

OPTIONAL_OF_CANDIDATE = ("does_the_job", "equals_not_owning_usd_per_h", "spread", "prices_usd", "by_year",
                         "net_present_cost_usd", "ownership", "insurance", "market_value")
"""Fields of a `Result` that are printed when it has them."""


def comparison_object(comparison: Comparison, out: str | None) -> dict[str, Any]:
    """Return a comparison as plain objects; what is unknown is None.

    Parameters
    ----------
    comparison : Comparison
    out : str or None   Folder the results were written to, as the user named it.
    """
    study = comparison.study
    found: dict[str, Any] = {
        "version": CONTRACT_VERSION, "study": study.name, "year": study.year, "seed": study.seed,
        "replications": comparison.replications,
        "candidates": [_candidate(r, origin_of_figures(c.profile, study.assumptions))
                       for r, c in zip(comparison.results, study.candidates, strict=True)],
        "differences": [dict(d) for d in comparison.differences],
        "probability_best": comparison.probability_best, "confidence_mean_best": comparison.confidence_mean_best,
    }
    if comparison.certainty is not None and comparison.certainty.enough and comparison.certainty.at_common:
        found["confidence_by_common_share"] = [
            {"common_share": share, "net_cost_usd": dict(zip(comparison.names, chances, strict=True))}
            for share, chances in comparison.certainty.at_common.items()]
    if comparison.certainty is not None and comparison.find_out:
        found["knowing_all_usd"] = comparison.certainty.knowing_all_usd
    if comparison.alternatives is not None:
        found |= _alternatives(comparison, comparison.alternatives)
    if comparison.as_asked:
        found["as_asked"] = [one.entry() for one in comparison.as_asked]
    worth = trip_worth(comparison)
    if worth:
        found["trip_worth"] = worth
    found |= {name: getattr(comparison, name) for name in OPTIONAL if getattr(comparison, name, None) is not None}
    if comparison.refusals is not None:
        found["refusals"] = [refusal_entry(x) for x in comparison.refusals]
    cleaned: dict[str, Any] = clean(found | {"out": out})
    return cleaned


def comparison_json(comparison: Comparison, out: str | None) -> str:
    """Return the object as text, one line at the end; never NaN."""
    return dumps(comparison_object(comparison, out))


def dumps(value: Any) -> str:
    """Return plain objects as JSON text that any reader accepts: no NaN, no characters beyond ASCII."""
    return json.dumps(clean(value), indent=1, allow_nan=False, ensure_ascii=True)


def clean(value: Any) -> Any:
    """Return a value as plain objects: numpy and dataclasses unpacked, NaN and infinity as None."""
    if is_dataclass(value) and not isinstance(value, type):
        value = asdict(value)
    elif isinstance(value, np.ndarray):
        value = value.tolist()
    elif isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, Mapping):
        return {str(k): clean(v) for k, v in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [clean(v) for v in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return str(value) if isinstance(value, str) else value


def _alternatives(comparison: Comparison, other: Alternatives) -> dict[str, Any]:
    return {"alternatives": list(other.entries()), "efficient": list(other.efficient()),
            "by_value_of_time": list(other.by_value_of_time(comparison.prepared.prices.value_of_time_usd_per_h))}


def _candidate(result: Result, origin: dict[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = {"name": result.name, "origin": origin}
    found |= {name: dict(result.measures[name]) for name in MEASURES}
    found |= {"refused": result.refused, "delayed": result.delayed, "by_month": list(result.by_month)}
    more = {name: getattr(result, name, None) for name in OPTIONAL_OF_CANDIDATE}
    by_year = result.by_year or ()
    cash = {name: by_year[k]["cash_usd"] for k, name in enumerate(("cash_at_purchase_usd", "cash_first_year_usd"))
            if k < len(by_year)}
    return found | cash | {name: value for name, value in more.items() if value is not None}
