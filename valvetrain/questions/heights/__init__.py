"""The height stack from cam to valve tip."""
