"""How many threads do libraries start by themselves?"""

from __future__ import annotations

import os
from typing import Final

#: Libraries that would start threads of their own. Matrices are small here, and such threads wait
#: for one another by turning in circles: on a busy machine five times as long as one needs.
ONE_THREAD: Final = {
    "MKL_NUM_THREADS": "1",
    "NUMBA_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "VECLIB_MAXIMUM_THREADS": "1",
}


def keep_to_one_thread() -> None:
    """Have libraries that are not loaded yet start no threads, where the user says nothing else."""
    for name, number in ONE_THREAD.items():
        os.environ.setdefault(name, number)
