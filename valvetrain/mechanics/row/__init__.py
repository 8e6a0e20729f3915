"""Rockers in a row on a shaft."""
