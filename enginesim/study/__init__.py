"""Many runs: what is known already, what is still to be run, and what they say together."""
