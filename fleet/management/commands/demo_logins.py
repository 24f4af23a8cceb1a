"""demo_logins: who may log in to the demo company, and with which password."""

from django.core.management.base import BaseCommand

from fleet import models
from fleet.management import demo


class Command(BaseCommand):
    """Print the demo logins that still work; nothing in a company of one's own."""

    help = "Print the demo company's logins that still have the password load_demo gave them."

    def handle(self, *args: object, **options: object) -> None:
        users = {user.username: user for user in models.User.objects.filter(is_active=True)}
        for login in demo.LOGINS:
            user = users.get(login.username)
            if user is not None and user.check_password(login.password):
                self.stdout.write(f"{login.username:<12} {login.password}")
