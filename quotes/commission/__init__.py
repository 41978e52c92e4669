"""The commission: all that a quote is made from, and the one road from it to priced options.

The question: what does each option of this commission take, how long does it last, and what is asked for it?

The file that the `quote` command reads and a quote in the site are the same thing: both go through `quote_commission`.
"""
