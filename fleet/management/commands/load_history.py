"""load_history FILE [--check] [--correct] [--done-by NAME]: load what failed, what was done, and what became of units and sites."""

from fleet.loading.history import LOADER
from fleet.management.loads import LoadCommand


class Command(LoadCommand):
    """Load a history file, whole or not at all."""

    help = "Load a history file (.csv or .xlsx), all of it or nothing."
    loader = LOADER
    things = "rows"
    brings_work = True
