"""From a finished comparison to files: results and figures, all of them or none."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path

from missionsim.base.owned_files import Writer, with_run
from missionsim.report.folder import check_folder, write_folder
from missionsim.report.html import figures, page_figures, report_html
from missionsim.report.placing import check_figures, placed
from missionsim.report.refusals import with_refusals
from missionsim.report.run_file import COMPARE, result_files
from missionsim.report.sections import further_sections
from missionsim.study.compare.compare import Comparison


def publish(comparison: Comparison, out: Path, figures_folder: str | None = None) -> None:
    """Write the folder of results, and the figures by themselves when a folder is named, whole or not at all.

    Raises
    ------
    OutputError   With earlier results and earlier figures untouched.
    """
    comparison = with_refusals(comparison)
    writer = Writer(COMPARE, comparison.study.name)
    check_folder(out, writer)
    if figures_folder is not None:
        check_figures(Path(figures_folder), out)
    drawn = page_figures(comparison) if figures_folder is None else figures(comparison)
    sections = further_sections(comparison)
    files = result_files(comparison, report_html(comparison, drawn, sections))
    drawn |= {p.name: p for s in sections for p in s.figures}
    beside = nullcontext() if figures_folder is None else placed(Path(figures_folder), with_run(
        {"command": writer.command, "study": writer.study}, {f"{n}.svg": p.svg + "\n" for n, p in drawn.items()}))
    write_folder(out, files, beside)
