"""Short cautions, where the work can hurt someone. They defer to the maker's manual and licensed practice."""

__all__ = ["CONTROL", "OIL", "SPRINGS", "TURNING", "WEAR"]

SPRINGS = (
    "valve springs store enough energy to injure. Use a proper spring compressor and eye protection; follow "
    "the engine maker's manual, local codes and licensed practice."
)
TURNING = (
    "turn the engine by hand, with the ignition and fuel off, when measuring; keep clear of hot and moving "
    "parts. The engine maker's manual comes first."
)
CONTROL = (
    "a speed limit computed here is a model's, not a licence to run at it: the engine maker's redline, "
    "manual and licensed practice come first. Pistons, rods and flywheels have limits of their own."
)
OIL = (
    "hot oil burns and sprays: stop and cool the engine before a line or a plug is opened. More oil on top "
    "may drain slowly and smoke. The engine maker's manual comes first."
)
WEAR = (
    "stress, film and heat are model values for comparing, not a promise of life. Look at the parts: what is "
    "worn through or cracked is not run. The engine maker's manual comes first."
)
