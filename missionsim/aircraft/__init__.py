"""What an aircraft can do: profile, performance (handbook or fitted), loading, runway, upgrades: pure.

Not here: reading files (`study.inputs`), prices (`money`).
"""
