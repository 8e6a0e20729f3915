"""Outlines of parts and the room between them."""
