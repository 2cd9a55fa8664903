"""Lots and units: what is wrong, what to look at next, which pile, and the whole plan."""
