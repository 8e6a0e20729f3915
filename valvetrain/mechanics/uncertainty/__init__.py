"""Doubt: propagation, draws, budgets."""
