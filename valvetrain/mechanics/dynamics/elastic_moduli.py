"""Young's modulus of the materials of valvetrain parts.

Callister, Materials Science and Engineering, Table B.2 (memory), except the valve steel (common practice, no
source). Handbooks differ by a few percent; cast irons by more.
"""

__all__ = ["ELASTIC_MODULI"]

ELASTIC_MODULI = {
    "carbon steel": 207e9,
    "4140/4340 steel": 207e9,
    "stainless steel": 193e9,
    "valve steel": 200e9,  # austenitic valve steels, cold: common practice, no source
    "grey iron": 100e9,
    "ductile iron": 169e9,
    "356.0 aluminum": 72.4e9,
    "6061 aluminum": 69e9,
    "Ti-6Al-4V": 114e9,
}  # [Pa]
