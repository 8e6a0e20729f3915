"""What a shop step of each dimension does."""
