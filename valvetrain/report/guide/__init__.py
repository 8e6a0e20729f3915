"""The guide: how each measurement is taken."""
