"""Fly one replication again and say, trip by trip, what happened and why a flight did not go.

Not here: counts over many years (`study.replicate.tally`).
"""
