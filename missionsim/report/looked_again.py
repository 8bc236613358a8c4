"""What is told of a few years looked at again, found beside flying and comparing; imports no more than flying does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from missionsim.base.parallel import Helpers, forget_shared
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.put_off import put_off, years_put_off
from missionsim.study.explain.other_plans import other_plans
from missionsim.study.explain.refusals import failed_trips, judged_year, refused_trips, years_judged
from missionsim.study.prepare.study import Prepared
from missionsim.study.replicate.tally import Tally


def _ready_to_draw(_: Prepared, __: None) -> None:
    """Have a process that has nothing else to do import what figures are drawn with, in place of the study."""
    import matplotlib.backends.backend_svg  # noqa: F401, PLC0415
    forget_shared()


class LookedAgain:
    """A few of the years flown, looked at again: what the report tells of trips not made and of weather.

    None of it needs what is compared: helpers find it while the years are flown and compared.

    Parameters
    ----------
    helpers : Helpers       They have the prepared study.
    prepared : Prepared
    replications : int      Simulated years that are flown.
    """

    def __init__(self, helpers: Helpers, prepared: Prepared, replications: int) -> None:
        self._helpers, self._prepared = helpers, prepared
        self._judged = [helpers.beside(judged_year, r) for r in years_judged(prepared, replications)]
        self._put_off = helpers.beside(put_off, years_put_off(prepared, replications))

    def flown(self, tallies: Sequence[Tally]) -> None:
        """Have trips that were not made planned otherwise, now that it is known which."""
        self._told = tuple(judged() for judged in self._judged)
        failed = failed_trips(self._prepared, tallies, self._told)
        self._tried = self._helpers.beside(other_plans, failed)
        self._helpers.beside(_ready_to_draw, None)

    def told_of(self, comparison: Comparison) -> Comparison:
        """Return the comparison of what was flown with every trip not made told over all years."""
        tallies = [r.tally for r in comparison.results]
        refused = refused_trips(self._prepared, tallies, self._told, self._tried())
        return replace(comparison, refusals=refused, told=self._told, put_off=self._put_off())
