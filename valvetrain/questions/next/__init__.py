"""What to measure next."""
