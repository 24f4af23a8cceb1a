"""add_person: a login for somebody, above all for the first owner of an empty company."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from fleet.models.people import Role
from fleet.office.actions import people
from fleet.refusals import Refused


class Command(BaseCommand):
    """Add a person with a login, and print where they set its password."""

    help = "Give somebody a login, and print the link to set its password (works once, for a few days)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take who it is."""
        parser.add_argument("username", help="a short name to log in with")
        parser.add_argument("--role", choices=Role.values, default=Role.OWNER.value, help="owner unless given")
        parser.add_argument("--first-name", default="")
        parser.add_argument("--last-name", default="")
        parser.add_argument("--email", default="", help="where a link for a new password can be emailed")

    def handle(self, *args: object, **options: str) -> None:
        """Add the person."""
        try:
            person = people.add(
                username=options["username"],
                first_name=options["first_name"],
                last_name=options["last_name"],
                email=options["email"],
                role=options["role"],
                by=None,
            )
        except Refused as refused:
            raise CommandError(str(refused)) from refused
        self.stdout.write(f"{person.username} ({person.role}) sets a password on this server at")
        self.stdout.write(people.link(person=person, by=None))
