"""The limits in use, each with its basis."""
