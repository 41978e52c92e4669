"""Profit: what a finished piece earned, and why that is not what was quoted.

The question: what did this piece make, where did the difference come from, and which work pays?

Words: *net* is without tax; *profit* is net less fee, materials, labour, overhead and extras, with all that was spoiled
and done again; *earned* is profit and labour together, what is left for the hours. The *bridge* is a row of amounts
that leads from the quoted profit to the actual one: each raises profit where it is positive, and they add up to the
minor unit because every amount of either side stands in exactly one of them. The *cause* of a loss says who bears it.

Source: Horngren, Datar and Rajan, Cost Accounting, ch. 7 (flexible budget, price and efficiency variances).
"""
