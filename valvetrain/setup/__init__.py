"""The setup sheet: schema, units, reading, errors."""
