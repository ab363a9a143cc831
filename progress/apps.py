"""Tell Django about the app."""

from django.apps import AppConfig


class ProgressConfig(AppConfig):
    """Skills, attempts and readiness."""

    name = "progress"
    verbose_name = "Gym progress"
