"""The rocker on its shaft: linkage, sweep, pads, heights."""
