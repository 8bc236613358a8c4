"""What every room may use: words, faults, the assumptions file, addressed random streams, workers, the normal law.

Not here: anything that knows aviation beyond its words.
"""
