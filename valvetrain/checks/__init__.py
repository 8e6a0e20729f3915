"""Limits, their basis, verdicts."""
