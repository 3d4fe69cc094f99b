"""Sheets for the bench: what to check by hand, what to order, what to set."""
