"""The project's settings as the tests need them: a folder of their own, plain files, quick passwords."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

# Whatever a developer's shell says of a running office must not reach the tests, nor they its folder.
for name in (
    "DEBUG",
    "HTTPS",
    "SECRET_KEY",
    "ALLOWED_HOSTS",
    "CSRF_TRUSTED_ORIGINS",
    "REDIS_URL",
    "EMAIL_URL",
    "EMAIL_FROM",
):
    os.environ.pop(name, None)
os.environ["TIME_ZONE"] = "America/New_York"
os.environ["DATA_DIR"] = tempfile.mkdtemp(prefix="fleet-tests-")
atexit.register(shutil.rmtree, os.environ["DATA_DIR"], ignore_errors=True)

from fleet.settings import *  # noqa: E402, F403
from fleet.settings import DATA_DIR, DATABASES, STORAGES  # noqa: E402

if "sqlite3" in DATABASES["default"]["ENGINE"]:
    # A file, as in a real run: the live server's thread has a connection of its own, and the locks are real.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}

# Hashed names need collectstatic, which a test of a page has no use for.
STORAGES["staticfiles"]["BACKEND"] = "django.contrib.staticfiles.storage.StaticFilesStorage"
Path(DATA_DIR / "static").mkdir()

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
