"""unlock: let somebody try passwords again, from the computer that the program runs on."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from fleet import models
from fleet.office.actions import people


class Command(BaseCommand):
    """Forget the wrong passwords under a name, also where no mail is set up and the only owner is locked out."""

    help = "Clear the wrong passwords tried under a username, so that the person can log in again."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take who it is."""
        parser.add_argument("username", metavar="NAME", help="the username")

    def handle(self, *args: object, **options: str) -> None:
        """Unlock the name."""
        person = models.User.objects.filter(username__iexact=options["username"].strip()).first()
        if person is None:
            raise CommandError(f"No login has the username {options['username']}.")
        wrong = people.unlock(person=person, by=None)
        passwords = "1 wrong password is" if wrong == 1 else f"{wrong} wrong passwords are"
        self.stdout.write(f"{passwords} cleared: {person.username} can try to log in again.")
