"""Fly one prepared study: a year, several years of owning, single flights judged exactly, and their sums.

Not here: differences between candidates, and prices (`money`).
"""
