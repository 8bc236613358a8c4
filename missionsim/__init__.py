"""Fly used-aircraft candidates through a year of your own trips and compare them.

Planning estimates only: the flight manual, the weather briefing, the regulations and the pilot in command decide.
"""

__version__ = "0.1.0"
