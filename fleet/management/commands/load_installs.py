"""load_installs FILE [--check] [--correct] [--apart]: load the customers, sites, systems and units of a spreadsheet."""

from fleet.loading.installs import LOADER
from fleet.management.loads import LoadCommand


class Command(LoadCommand):
    """Load an installs file, whole or not at all."""

    help = "Load an installs file (.csv or .xlsx), all of it or nothing."
    loader = LOADER
    things = "units"
    brings_customers = True
