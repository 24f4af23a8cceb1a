#!/usr/bin/env python
"""The project's commands: `.venv/bin/python manage.py help` lists them."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError as missing:
        raise SystemExit(
            "Django is not installed for this Python. Run `make setup`, then use `.venv/bin/python manage.py`."
        ) from missing
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
