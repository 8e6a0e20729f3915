"""To what speed the valves follow the cam."""
