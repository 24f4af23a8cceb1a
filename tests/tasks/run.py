"""manage.py in a program that knows the tests' jobs."""

import sys

from django.core.management import execute_from_command_line

from tests.tasks import office  # noqa: F401

if __name__ == "__main__":
    execute_from_command_line(["manage.py", *sys.argv[1:]])
