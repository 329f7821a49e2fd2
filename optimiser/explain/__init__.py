"""Why an answer is what it is: conflicts, concessions, prices, freedom, wishes, tolerances, taste.

Everything here stands on solving: nothing is read off slopes, and what was not proven is not said.
"""
