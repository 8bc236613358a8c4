"""The local page: one's year, the hangar and the verdict in a browser on this machine, without editing a file.

Not here: computing and wording (`study`, `report`); the page keeps files, flies in a process of its own and shows.
"""
