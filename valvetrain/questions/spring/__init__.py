"""Springs and the shims under them."""
