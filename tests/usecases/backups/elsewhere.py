"""Databases beside the tests' own: files of SQLite and new ones of PostgreSQL, migrated."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

import environ
import psycopg
from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import connections
from django.db.utils import load_backend

Rows = dict[str, list[tuple[Any, ...]]]


@contextmanager
def known_as(alias: str, settings: dict[str, Any]) -> Iterator[str]:
    """Let Django know a database by an alias for as long as the block lasts."""
    full = {**connections.settings["default"], "OPTIONS": {}, **settings}
    # Not among the settings: Django's tests shut all databases there but their own.
    connections[alias] = load_backend(full["ENGINE"]).DatabaseWrapper(full, alias)
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]


@contextmanager
def sqlite_file(path: Path, alias: str = "elsewhere") -> Iterator[str]:
    """An SQLite database file, as the site opens it."""
    settings = {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(path),
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL",
        },
    }
    with known_as(alias, settings):
        yield alias


@contextmanager
def new_postgres(url: str, alias: str = "postgres") -> Iterator[str]:
    """A migrated PostgreSQL database of its own, deleted afterwards."""
    name = f"gym_backup_{uuid4().hex[:8]}"
    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
    try:
        own = urlunsplit(urlsplit(url)._replace(path=f"/{name}"))
        with known_as(alias, environ.Env.db_url_config(own)):
            migrate(alias)
            yield alias
    finally:
        with psycopg.connect(url, autocommit=True) as server:
            server.execute(f"DROP DATABASE {name} WITH (FORCE)")


def migrate(alias: str) -> None:
    """Bring a database up to date."""
    call_command("migrate", database=alias, verbosity=0)


def rows_of(alias: str = "default", *, sessions: bool = False) -> Rows:
    """All rows of all tables of the installed apps, each value in words that hold every bit.

    Taken from the models, not from what a backup thinks its tables are.
    """
    found = {}
    for model in apps.get_models(include_auto_created=True):
        if model is Session and not sessions:
            continue
        rows = model._base_manager.using(alias).order_by("pk").values_list()
        found[model._meta.db_table] = [tuple(map(in_full, row)) for row in rows]
    return found


def in_full(value: Any) -> Any:
    """A value with its type; a float by its bits. JSON keeps its meaning, not its key order."""
    if isinstance(value, dict):
        return sorted((key, in_full(one)) for key, one in value.items())
    if isinstance(value, list):
        return [in_full(one) for one in value]
    return (type(value).__name__, value.hex() if isinstance(value, float) else value)
