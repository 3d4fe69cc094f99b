"""What the shipped cases give, number by number, so that nothing moves without being seen."""
