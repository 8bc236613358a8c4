"""Places and the weather over them, from packaged tables. Rooms, plus reading packaged data and daylight.

Not here: aircraft and pilots.
"""
