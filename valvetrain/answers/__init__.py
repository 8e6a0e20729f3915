"""What all questions share: quantities, verdicts, doubt, explanations, pages of figures."""
