"""Frozen dataclasses of real things."""
