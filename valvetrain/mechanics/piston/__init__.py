"""Crank, piston, and the room it leaves the valves."""
