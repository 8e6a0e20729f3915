"""One question a file: takes a setup, returns a frozen result."""
