"""Labour: from the work in a piece to minutes, by operation, with a range.

The question: how long will this take, which operation takes it, and how sure is that?

Words: an *operation* has set-up minutes and minutes per unit of each *driver* (a counted or measured quantity); the
*allowance* for personal needs and fatigue is a share of the time worked (ILO: factor 1 + A). Source: common practice
(from memory and common practice, to be replaced by the shop's own timings).
"""
