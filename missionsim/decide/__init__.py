"""Whether, when, how high and with what fuel each flight goes in a replication's weather, as arrays of bits.

Not here: the event loop (`year`), rules and still-air plans (`flight`), prices (`money`).
"""
