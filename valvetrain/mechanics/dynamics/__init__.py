"""Masses and springs in motion: loads, control limit, the elastic train."""
