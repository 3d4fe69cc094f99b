"""The case: from a TOML file in trade units to a frozen tree in SI, and back."""
