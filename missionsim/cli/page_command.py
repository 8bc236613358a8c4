"""`missionsim page`: the whole job in a browser on this machine."""

from __future__ import annotations

import sys
from pathlib import Path

import click


@click.command()
@click.argument("study", required=False, type=click.Path())
@click.option("--port", type=click.IntRange(0, 65_535), default=0, help="Port to serve on; else a free one.")
@click.option("--browser/--no-browser", default=True, help="Open the page in the browser.")
def command(study: str | None, port: int, browser: bool) -> None:
    """Open a page of your own: trips, aircraft and the verdict, without editing a file.

    STUDY is a study file or a folder that holds one; without it, a new study begins in this folder. The page is
    served on this machine only, and writes nothing but the study's own folder.

    Example: missionsim page my_study/study.yaml
    """
    from missionsim.page.server import serve
    sys.exit(serve(None if study is None else Path(study), port, browser))
