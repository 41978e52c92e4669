"""Stocktakes: counting the shelf place by place, on a phone, on paper or in a workbook."""
