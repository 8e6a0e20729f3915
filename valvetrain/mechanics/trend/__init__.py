"""Readings over the years: trends and what they tell."""
