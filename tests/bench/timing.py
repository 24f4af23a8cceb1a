"""Timing that is told as a ratio: the processor's time, so that whatever else this computer does meanwhile does not count.

The database runs in the same process, so its work is in it; only waiting for the disk is not.
"""

import time
from collections.abc import Callable


def best(work: Callable[[], object], times: int = 5) -> float:
    """Give the shortest of several runs, in seconds: what the work costs when nothing else disturbs it."""
    found = []
    for _ in range(times):
        began = time.process_time()
        work()
        found.append(time.process_time() - began)
    return min(found)


def tell(what: str, ours: float, floor: float, reach: float) -> None:
    """Print one row: what was measured, how many times its floor, and what it should reach."""
    ratio = ours / floor
    print(f"{what:<66}{ratio:>7.2f}x  <= {reach}x{'' if ratio <= reach else '   NOT REACHED'}", flush=True)


def tell_queries(what: str, queries: int, of_one: int, most: int) -> None:
    """Print one row: how many queries a page asks, and how many the same page with a row asks."""
    reached = queries == of_one and queries <= most
    told = f"queries of {what} | with one row {of_one}"
    print(f"{told:<66}{queries:>7}   <= {most}{'' if reached else '   NOT REACHED'}", flush=True)
