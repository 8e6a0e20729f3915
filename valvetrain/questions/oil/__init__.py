"""Oil to every rocker."""
