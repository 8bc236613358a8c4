"""Command line: parse, call one function of the study layer, print."""

from missionsim.cli.app import main

__all__ = ["main"]
