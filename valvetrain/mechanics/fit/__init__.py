"""The linkage inferred from readings."""
