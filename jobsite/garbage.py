"""How often a process that lives long looks for objects that only hold each other."""

import gc

# A page makes tens of thousands of objects. By Python's own numbers (700, 10, 10) the search begins dozens of times while one
# is made, and now and then goes through all that the process holds, which is hundreds of megabytes of code.
THRESHOLDS = (50_000, 20, 20)


def set_aside_what_stays() -> None:
    """Leave all that was loaded so far out of every later search, and search less often; for the end of the start.

    Processes that this one divides into share more of those objects' memory, since no search writes to them.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(*THRESHOLDS)
