"""What differs between two sheets."""
