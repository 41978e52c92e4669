"""Kept patterns: handed in as files or drafted from measures, revised, used again."""
