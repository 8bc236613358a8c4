"""The page's templates, the report's parts among them."""

from __future__ import annotations

from functools import cache

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined


@cache
def templates() -> Environment:
    """Return the templates, the report's parts among them; whatever a user wrote shows as text."""
    loader = ChoiceLoader([PackageLoader("missionsim.page", "views"), PackageLoader("missionsim.report")])
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
