"""What a seller's own words say of an aircraft: patterns of the trade, each figure with the words it came from.

No network and no model; nothing is guessed from a name. Not here: what a class of aircraft usually has.
"""
