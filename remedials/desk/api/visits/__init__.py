"""Visits, keys, attempts, times offered, codes, diary."""
