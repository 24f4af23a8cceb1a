"""How many examples a property is tried with where each of them writes to the database: few here, as many more as somebody asks for."""

import os


def examples(few: int) -> int:
    """EXAMPLES_TIMES=10 tries ten times as many."""
    return few * int(os.environ.get("EXAMPLES_TIMES", "1"))
