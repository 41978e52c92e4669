"""A maker's own spreadsheet on its way in: columns matched, rows looked at, taken whole or not at all."""
