"""The made-up gym, made once for each file of this folder."""

from collections.abc import Iterator
from datetime import date

import pytest
from django.db import transaction
from pytest_django.plugin import DjangoDbBlocker

from progress.usecases.make_gym import GymMade, make_gym

TODAY = date(2026, 11, 25)  # a Wednesday


@pytest.fixture
def today() -> date:
    """The day the made-up gym was made for."""
    return TODAY


@pytest.fixture(scope="module")
def gym(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[GymMade]:
    """The made-up gym, rolled back when the last test of a file is done."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield make_gym(seed=7, today=TODAY)
        transaction.set_rollback(True)
