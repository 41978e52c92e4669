"""Hours."""
