"""Build scripts for the packaged tables; run by hand, imported by nothing."""
