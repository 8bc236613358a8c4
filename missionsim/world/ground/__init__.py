"""Terrain, and routes that clear it.

Not here: levels an aircraft can fly (`flight`).
"""
