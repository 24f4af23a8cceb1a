"""What the tests' gunicorn serves: the project's own door, in a program that knows the tests' jobs."""

from fleet.wsgi import application  # noqa: F401
from tests.tasks import office  # noqa: F401
