"""Prices laid over finished records: ledger in integer cents, insurance, engine life, ownership, sharing, rates.

Not here: hours and trips (`year`), choosing between candidates (`study.compare`).
"""
