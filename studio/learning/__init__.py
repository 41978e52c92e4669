"""Learning: what delivered jobs say of minutes, ranges and losses; proposals to take or refuse."""
