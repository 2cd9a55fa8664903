"""Lots and units: what is wrong, what to look at next, which pile, and the whole plan."""

import os

# numpy reads this when it is first imported. Products of this size lose by being split: a second thread mostly spins,
# and a study took 2.5 times the processor time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
