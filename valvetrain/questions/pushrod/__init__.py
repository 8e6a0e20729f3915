"""Pushrods and adjusters."""
