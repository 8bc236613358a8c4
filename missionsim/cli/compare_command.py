"""`missionsim compare`: the main job."""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import click


class _Keep(click.ParamType):
    name = "N|all"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Return a number of replications; `all` is more than there can be."""
        if isinstance(value, int):
            return value
        if value == "all":
            return 1_000_000
        if not re.fullmatch(r"0*[1-9][0-9]{0,8}", str(value)):
            self.fail(f"{value!r:.60}; accepted: a number from 1, or all", param, ctx)
        return int(value)


class _Width(click.ParamType):
    name = "USD"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return dollars, finite and above 0."""
        try:
            width = float(value)
        except ValueError:
            width = math.nan
        if not (math.isfinite(width) and width > 0.0):
            self.fail(f"{value!r:.60}; accepted: dollars above 0, such as 500", param, ctx)
        return width


@click.command()
@click.argument("study", required=False)
@click.option("--replications", type=click.IntRange(1, 100_000),
              help="Simulated years, with --within the most; else the study's own number.")
@click.option("--within", type=_Width(),
              help="Fly on until the mean difference in cost to every other candidate is known within plus or minus so "
                   "many dollars (95 %).")
@click.option("--seed", type=click.IntRange(0, 2**63 - 1), help="Another seed than the study's.")
@click.option("--out", type=click.Path(), help="Folder for the results; else reports/ and the study's name.")
@click.option("--keep", type=_Keep(), default=20, show_default=True,
              help="Simulated years whose single trips, flights and dollars are written.")
@click.option("--workers", type=click.IntRange(1, 256), help="Processes; the results are the same for any number.")
@click.option("--dask", "cluster", metavar="ADDRESS", help="Scheduler of a dask cluster whose workers fly instead.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout instead of text.")
@click.option("--upgrades", is_flag=True, help="Also fly each upgrade on each aircraft: what buys most (minutes).")
@click.option("--tipping", is_flag=True, help="Also: rent or own, and the party size at which the choice changes.")
@click.option("--grid", is_flag=True,
              help="Also: which way of travelling is best at which distance and party from home (half a minute).")
@click.option("--open", "show", is_flag=True, help="Open the report in the browser when it is written.")
@click.option("--figures", type=click.Path(file_okay=False), help="Also write the report's figures as SVG files here.")
def command(study: str | None, replications: int | None, within: float | None, seed: int | None, out: str | None,
            keep: int, workers: int | None, cluster: str | None, as_json: bool, upgrades: bool, tipping: bool,
            grid: bool, show: bool, figures: str | None) -> None:
    """Fly the candidates of STUDY through a year of trips; without a study, the packaged demo.

    Writes report.html, run.json and tables of results, trips, refusals, flights, shop visits, dollars, years of owning
    and draws as CSV, all or none of them.

    Example: missionsim compare my_study.yaml --replications 100
    """
    from missionsim.base.owned_files import Writer
    from missionsim.base.parallel import Helpers, begin
    from missionsim.cli.progress import Flying, usual_workers
    from missionsim.report.folder import address_of, check_folder, folder_of
    from missionsim.report.looked_again import LookedAgain
    from missionsim.report.placing import check_figures
    from missionsim.study.compare.compare import fly_and_compare
    from missionsim.study.compare.stopping import most_replications
    from missionsim.study.inputs.files import home_expanded
    from missionsim.study.inputs.load_study import load_study
    from missionsim.study.prepare.study import prepare
    from missionsim.study.replicate.one_year import CHUNK
    loaded = load_study(study)
    if seed is not None:
        loaded = replace(loaded, seed=seed)
    folder = folder_of(loaded.name, out, file=study)
    check_folder(folder, Writer("compare", loaded.name))
    if figures is not None:
        figures = str(home_expanded(figures))
        check_figures(Path(figures), folder)
    count = most_replications(loaded, replications, within)
    processes = workers or usual_workers(count)
    if cluster is None and count > CHUNK * (processes - 1):
        begin(processes, "missionsim.study.compare.compare")    # while this one prepares
    prepared = prepare(loaded, rental=True)
    with Flying(len(loaded.candidates), count, folder, within is not None) as flying:
        with Helpers(prepared, min(processes, -(-count // CHUNK)), cluster) as helpers:
            again = LookedAgain(helpers, prepared, count)
            found = fly_and_compare(prepared, count, helpers, keep, flying.progress, within_usd=within,
                                    flown=again.flown)
            flying.writing()
            from missionsim.report.publish import publish  # its packages take room that flying needs
            found = again.told_of(found)
            if not (upgrades or tipping or grid):
                publish(found, folder, figures, helpers)
        if upgrades or tipping or grid:
            found = _more(found, {"upgrades": upgrades, "tipping points": tipping, "grid": grid},
                          workers or usual_workers(100))
            publish(found, folder, figures)
    if found.stopping is not None:
        from missionsim.report.stopping_text import stopping_text
        click.echo(stopping_text(found.stopping), err=True)
    if as_json:
        from missionsim.report.contract import comparison_json
        click.echo(comparison_json(found, str(folder)))
        return
    from rich.console import Console

    from missionsim.report.terminal import print_comparison
    print_comparison(Console(file=sys.stdout, highlight=False), found, str(folder))
    if show:
        click.launch(address_of(folder))


def _more(found: Any, wanted: Mapping[str, bool], workers: int) -> Any:
    """Return the comparison with what was asked for on top, each with its own years and its own time on stderr."""
    from time import perf_counter

    from missionsim.study.compare.on_request import with_tipping, with_upgrades
    from missionsim.study.compare.where_each_wins import with_grid
    for what, add in (("upgrades", with_upgrades), ("tipping points", with_tipping), ("grid", with_grid)):
        if wanted[what]:
            start = perf_counter()
            found = add(found, workers=workers)
            click.echo(f"{what}: {perf_counter() - start:.0f} s", err=True)
    return found
