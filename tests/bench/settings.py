"""The settings that every measurement runs under: ours, with the framework's own admin beside them to be measured against."""

from fleet.settings import *  # noqa: F403
from fleet.settings import INSTALLED_APPS as OURS

INSTALLED_APPS = [*OURS, "django.contrib.admin"]
