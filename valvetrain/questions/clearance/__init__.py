"""Room between valve and piston, and compression."""
