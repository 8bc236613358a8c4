"""Trips, demand, reservations, upkeep and the event loop that flies a year by look-ups.

Not here: weather and planning (`decide`); nothing here is drawn or planned inside an event.
"""
