"""Where each rocker meets its valve tip, its lift and ratio, and the stand shim."""
