"""Pushrods: length, adjuster, columns."""
