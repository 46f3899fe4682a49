"""Predictions held against the truth, on many scenes and on real photographs."""

import os

# Before numpy is imported: the threads of a linear algebra library only wait for each other in the
# small products of a scene.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
