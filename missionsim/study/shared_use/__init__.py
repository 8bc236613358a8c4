"""Several people and one aircraft: members who share it, outside flying for hire, and their results.

Not here: the event loop's reservations (`year`), prices (`money`).
"""
