"""load_terms FILE...: put terms on file."""

from django.core.management.base import CommandError, CommandParser

from fleet import clock
from fleet.coverage.actions import terms
from fleet.management.here import HereCommand
from fleet.rules.tables import BadTable


class Command(HereCommand):
    """Take terms files (.toml), all or none."""

    help = "Load terms from one or more .toml files, all of them or none."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", nargs="+", metavar="FILE")

    def handle(self, *args: object, **options: object) -> None:
        try:
            taken = terms.load_files(options["files"], by=None, on=clock.today())  # type: ignore[arg-type]
        except BadTable as refused:
            raise CommandError("\n".join(map(str, refused.faults))) from refused
        self.stdout.write(f"{len(taken.added)} terms loaded, {len(taken.unchanged)} already on file.")
