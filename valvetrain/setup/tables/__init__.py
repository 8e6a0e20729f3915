"""The tables that a sheet names."""
