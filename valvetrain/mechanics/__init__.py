"""Ground floor: pure functions on SI floats and numpy arrays."""
