"""Reads a study, replicates it and compares the candidates."""
