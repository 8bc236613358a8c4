"""From a finished comparison to files: results and figures, all of them or none."""

from __future__ import annotations

from pathlib import Path

from missionsim.report.folder import check_folder, write_folder
from missionsim.report.html import figures, report_html
from missionsim.report.placing import check_figures, placed
from missionsim.report.run_file import result_files
from missionsim.report.sections import further_sections
from missionsim.study.compare.compare import Comparison


def publish(comparison: Comparison, out: Path, figures_folder: str | None = None) -> None:
    """Write the folder of results, and the figures by themselves when a folder is named, whole or not at all.

    Raises
    ------
    OutputError   With earlier results and earlier figures untouched.
    """
    check_folder(out)
    if figures_folder is not None:
        check_figures(Path(figures_folder), out)
    drawn = figures(comparison)
    sections = further_sections(comparison)
    files = result_files(comparison, report_html(comparison, drawn, sections))
    if figures_folder is None:
        write_folder(out, files)
        return
    drawn |= {p.name: p for s in sections for p in s.figures}
    write_folder(out, files, placed(Path(figures_folder), {f"{n}.svg": p.svg + "\n" for n, p in drawn.items()}))
