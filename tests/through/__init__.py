"""Independent checks through the commands: a sheet goes in, the JSON is read, another model agrees or not."""
