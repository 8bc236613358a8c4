"""Air, wind and earth: pure functions on floats and arrays.

Not here: anything an aircraft, a rule or a place adds.
"""
