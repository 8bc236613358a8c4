"""Trips, pilots, maintenance and the discrete-event year."""
