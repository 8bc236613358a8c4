"""Winds and temperatures aloft: the mean by place, level and day, and the simulated scatter around it.

Not here: wind at the ground (`world.surface`).
"""
