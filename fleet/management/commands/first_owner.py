"""first_owner: where the first owner of a new company makes a login."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand
from django.urls import reverse

from fleet.office.actions import first_owner


class Command(BaseCommand):
    """Print the address with its code while nobody has a login; nothing afterward."""

    help = "Print where the first owner makes a login, with the code that it asks for; nothing once anybody has one."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take where the server is reached."""
        parser.add_argument("--at", default="", help="the address of this server, such as http://127.0.0.1:8000")

    def handle(self, *args: object, **options: str) -> None:
        """Print it."""
        if first_owner.is_wanted():
            code = first_owner.code()
            self.stdout.write(f"Nobody has a login yet. Begin here, with the code {code}:")
            self.stdout.write(f"{options['at'].rstrip('/')}{reverse('first_owner')}?code={code}")
