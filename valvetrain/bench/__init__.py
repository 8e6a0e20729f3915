"""The bench: a live page on this machine by which an engine is measured, and what it means seen at once."""
