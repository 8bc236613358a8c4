"""Intervals, paired comparisons, crossings, splines, value of information: pure functions on arrays.

Not here: anything that knows a study, an aircraft or a dollar's meaning.
"""
