"""Airports and runways: the packaged table, the user's corrections and downloads, search by name.

Not here: the hour's weather at an airport (`world.surface`).
"""
