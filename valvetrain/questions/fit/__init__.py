"""The rocker inferred from bench readings."""
