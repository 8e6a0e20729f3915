"""Lash against the ramps, cold and hot."""
