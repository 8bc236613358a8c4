"""Compare candidates over flown years: differences, ownership, sensitivity, what to ask, variants, stopping.

Not here: formulas that know no study (`statistics`), sentences (`report`).
"""
