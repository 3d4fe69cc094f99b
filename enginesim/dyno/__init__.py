"""What a dynamometer sheet says beside what was measured: correction to a standard's air."""
