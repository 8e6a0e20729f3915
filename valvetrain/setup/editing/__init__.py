"""Values of a sheet changed: in memory, or in its files with a journal that takes them back."""
