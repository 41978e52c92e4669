"""A maker's own table: read as text, its columns guessed and matched, its rows understood or refused by their number.

`rows` reads XLSX and CSV, `words` knows what headers and kinds are called, `cells` and `codes` read one cell, `table` all.
"""
