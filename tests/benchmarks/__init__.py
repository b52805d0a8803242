"""What certgen costs, with linear algebra in one thread as the command line has it."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
