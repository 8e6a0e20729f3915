"""Oil: viscosity, passages, networks."""
