"""Air, wind and earth: pure functions on floats and arrays."""
