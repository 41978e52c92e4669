"""From the lines of a free drawing to panels: what is a panel, which number it has, how long a unit is.

The question: which of these lines are the panels of a garment, and what does the maker have to say before they count?
"""
