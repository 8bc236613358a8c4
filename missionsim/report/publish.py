"""From a finished comparison to files: results and figures, all of them or none."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path

from missionsim.base.owned_files import Writer, with_run
from missionsim.base.parallel import Helpers
from missionsim.report.folder import check_folder, write_folder
from missionsim.report.html import figures, page_figures, report_html
from missionsim.report.placing import check_figures, placed
from missionsim.report.refusals import with_refusals
from missionsim.report.run_file import COMPARE, result_files, result_tables
from missionsim.report.sections import further_sections
from missionsim.report.svg_figure import drawn_beside
from missionsim.study.compare.compare import Comparison


def publish(comparison: Comparison, out: Path, figures_folder: str | None = None, helpers: Helpers | None = None,
            ) -> None:
    """Write the folder of results, and the figures by themselves when a folder is named, whole or not at all.

    Parameters
    ----------
    comparison : Comparison
    out : Path
    figures_folder : str, optional
    helpers : Helpers, optional      Who draws the figures of the page while its tables are made.

    Raises
    ------
    OutputError   With earlier results and earlier figures untouched.
    """
    comparison = with_refusals(comparison)
    writer = Writer(COMPARE, comparison.study.name)
    check_folder(out, writer)
    if figures_folder is not None:
        check_figures(Path(figures_folder), out)
    page, sections = page_figures(comparison), further_sections(comparison)
    shown = [*page.values(), *(figure for section in sections for figure in section.figures)]
    finished = drawn_beside(shown, helpers or Helpers(comparison.prepared))
    tables = result_tables(comparison)
    finished()
    files = result_files(comparison, report_html(comparison, page, sections), tables)
    write_folder(out, files, nullcontext() if figures_folder is None else placed(Path(figures_folder), with_run(
        {"command": writer.command, "study": writer.study},
        {f"{f.name}.svg": f.svg + "\n" for f in (*figures(comparison, page).values(), *shown[len(page):])})))
