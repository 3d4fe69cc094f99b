"""Many random things that a person may do, drawn from a seed; none may end badly."""
