"""Results to a page."""
