"""The pattern table: what a maker handed in, what they say of it, and the pattern that both come to, before it counts."""
