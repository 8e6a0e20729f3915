"""Sheets, tables and options of every kind, valid, odd and hostile, held against what must always hold.

`python -m tests.fuzz --cases 10000 --seed 1` runs many; the tests run some.
"""
