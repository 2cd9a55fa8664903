"""Parts and buying: what a part is, what may stand in for it, who sells it, and the cheapest order.

Knows nothing of lots, units or screens.
"""
