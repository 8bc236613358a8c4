"""Prices laid over finished records: ledger, ownership, shares and rates."""
