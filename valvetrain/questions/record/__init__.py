"""What the record of inspections says."""
