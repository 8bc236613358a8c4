"""Plan one leg of one aircraft by itself, exactly, with every reason and margin.

Not here: what it prints (`report.leg`).
"""
