"""Rockers along the shaft."""
