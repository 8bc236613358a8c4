"""How the number of simulated years was found, in a sentence."""

from __future__ import annotations

import math

from missionsim.report.wording import count
from missionsim.study.compare.stopping import Stopping


def stopping_text(found: Stopping) -> str:
    """Return how many years were enough, or that the limit came first."""
    what = "net present cost" if found.measure == "net_present_cost_usd" else "yearly net cost"
    known = f"the mean {what}" if found.alone else f"the mean difference in {what} to every other candidate"
    asked = f"± {_amount(found.within_usd)} dollars"
    if found.enough:
        least = min(_rounded_up(found.reached_usd or 0.0), found.within_usd)
        were = "year was" if found.replications == 1 else "years were"
        return (f"{found.replications:,} simulated {were} enough: {known} is known within ± {_amount(least)} dollars "
                f"(95 %); {asked} were asked for.")
    text = f"The limit of {count(found.limit, 'simulated year')} came first"
    reached = "" if found.reached_usd is None else f"± {_amount(_rounded_up(found.reached_usd))} dollars (95 %)"
    if found.replications < found.first:
        here = f", here {reached}," if reached else ""
        return f"{text}: a width{here} counts only from {found.first:,} years on, when their spread is known."
    return f"{text}: {known} is known within {reached} only; {asked} were asked for."


def _rounded_up(usd: float) -> float:
    return math.ceil(usd) if usd >= 10.0 else math.ceil(100.0 * usd) / 100.0


def _amount(usd: float) -> str:
    return f"{usd:,.0f}" if usd == int(usd) else f"{usd:,.2f}"
