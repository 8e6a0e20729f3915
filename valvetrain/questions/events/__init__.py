"""When the valves open and close."""
