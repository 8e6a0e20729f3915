"""Valve springs: coils, loads, shims, matching, strength."""
