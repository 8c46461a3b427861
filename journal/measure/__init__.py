"""Floor 1, numbers only: units, values, intervals, what is still free, least squares, comparison."""

import os

# The matrices here are small, and threads of the linear algebra that wait for one another cost more than they bring:
# a face of 200 points takes a quarter of the processor's time on one. Who has set it keeps what is set.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
