"""Sentences, terminal tables, figures, the report page, the output folder and the JSON contract.

Not here: computing; a number is only worded and placed.
"""
