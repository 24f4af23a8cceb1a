"""Where Django meets the project."""

from django.apps import AppConfig


class FleetConfig(AppConfig):
    """The one app of the project."""

    name = "fleet"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # Here and not in fleet/__init__.py, so that importing fleet.rules brings in neither Celery nor Django.
        from fleet import celery  # noqa: F401
