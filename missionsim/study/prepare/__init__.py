"""Lay out once what no luck changes: places, routes, lanes, weather samples, and each candidate's plan.

Not here: anything drawn by replication.
"""
