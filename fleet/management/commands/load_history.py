"""load_history FILE [--check] [--correct]: load what failed, what was done, and what became of units and sites."""

from fleet.loading.history import LOADER
from fleet.management.loads import LoadCommand


class Command(LoadCommand):
    """Load a history file, whole or not at all."""

    help = "Take a history file (.csv or .xlsx), whole or not at all."
    loader = LOADER
    things = "rows"
