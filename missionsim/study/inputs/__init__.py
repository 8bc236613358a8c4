"""Read and check what the user writes: study, aircraft, trips, members, places; faults with file and line.

Not here: anything that needs routes, weather or a clock.
"""
