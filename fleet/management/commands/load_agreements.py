"""load_agreements FILE [--check] [--correct]: load what customers have bought of maintenance."""

from fleet.loading.agreements import LOADER
from fleet.management.loads import LoadCommand


class Command(LoadCommand):
    """Load a file of agreements, whole or not at all."""

    help = "Load a file of agreements (.csv or .xlsx), all of it or nothing."
    loader = LOADER
    things = "agreements"
