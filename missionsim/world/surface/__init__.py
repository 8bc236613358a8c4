"""Ceiling, visibility, temperature, wind, thunder and cloud over the ground: climates and simulated years.

Not here: whether a pilot goes (`decide`).
"""
