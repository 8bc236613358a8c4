"""Read a study, prepare it, fly it many times and use what was flown. Only rooms here, no files of its own.

Not here: text and tables for people (`report`), and statistics that know no study (`statistics`).
"""
