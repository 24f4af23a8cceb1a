"""The project's settings for a worker and a beat that share the database of the test that started them."""

import os

from fleet.settings import *  # noqa: F403
from fleet.settings import DATABASES, STORAGES

if "SQLITE_FILE" in os.environ:
    DATABASES["default"]["NAME"] = os.environ["SQLITE_FILE"]

# Hashed names need collectstatic, which these programs have no use for.
STORAGES["staticfiles"]["BACKEND"] = "django.contrib.staticfiles.storage.StaticFilesStorage"
# What a browser loads comes straight from the folders of the project.
WHITENOISE_USE_FINDERS = True
