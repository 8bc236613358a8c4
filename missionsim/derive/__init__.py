"""Build scripts for the packaged tables and scripts that print how good they are; run by hand, imported by nothing.

Not here: anything the program needs to run.
"""
