"""Gaussian fields correlated in space and time, drawn by address: knots, series, windows.

Not here: what a rank means in feet and miles (`world.surface`, `world.winds`).
"""
