"""The project's settings for a worker and a beat that share the database of the test that started them."""

import os

from fleet.settings import *  # noqa: F403
from fleet.settings import DATABASES

if "SQLITE_FILE" in os.environ:
    DATABASES["default"]["NAME"] = os.environ["SQLITE_FILE"]
