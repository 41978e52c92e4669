"""Clients: their measures, what they said in confidence, export and erasure."""
