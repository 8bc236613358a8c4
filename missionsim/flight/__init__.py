"""Rules, levels, minima, still-air tables, batch plans and fuel stops: pure, vectorised over flights.

Not here: one replication's weather and the choice of an hour (`decide`).
"""
