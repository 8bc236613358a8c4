"""Places and the weather over them, from the packaged tables."""
