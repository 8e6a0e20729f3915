"""What wears."""
