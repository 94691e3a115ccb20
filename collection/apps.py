"""The one Django application of the project."""

from django.apps import AppConfig


class CollectionConfig(AppConfig):
    """Records, pages and jobs; importing it has no effect beyond registering checks."""

    name = "collection"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the system checks, and hear of jobs."""
        from collection.web import checks  # noqa: F401
        from collection.web.logs import jobs

        jobs.listen()
