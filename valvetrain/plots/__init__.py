"""A result in, Axes out."""
