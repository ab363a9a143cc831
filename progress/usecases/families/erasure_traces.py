"""Where an erased child's or guardian's name would linger: accounts, snapshots, the admin's log."""

import re
from collections.abc import Collection, Iterable
from typing import Any

from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.db.models import Model

from progress.models import Athlete, Guardian

ERASED = "erased"


def without_names(said: Any, names: Collection[str], pseudonym: str) -> Any:
    """A snapshot with the pseudonym wherever a name stood as a word of its own, keys included."""
    if not names:
        return said
    # The longest first: a short name may be a part of a longer one.
    either = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))
    return _replaced(said, re.compile(rf"(?<!\w)(?:{either})(?!\w)"), pseudonym)


def _replaced(said: Any, names: re.Pattern[str], pseudonym: str) -> Any:
    if isinstance(said, dict):
        return {
            names.sub(pseudonym, str(key)): _replaced(value, names, pseudonym)
            for key, value in said.items()
        }
    if isinstance(said, list):
        return [_replaced(one, names, pseudonym) for one in said]
    return names.sub(pseudonym, said) if isinstance(said, str) else said


def forget_guardians(guardians: Iterable[Guardian]) -> None:
    """Delete guardians with their links, codes, consents, mails and accounts.

    The account of somebody who is on the staff as well stays: it is the gym's.
    """
    for guardian in guardians:
        user = guardian.user
        _forget_log_of(guardian)
        guardian.delete()
        if user is not None and not hasattr(user, "staff_member"):
            user.delete()


def forget_admin_log(athlete: Athlete) -> None:
    """The admin notes what was changed by name: empty those lines for the child and its records."""
    _forget_log_of(athlete)
    for relation in athlete._meta.related_objects:
        model = relation.field.model
        if not relation.many_to_many and model._meta.app_label == "progress":
            numbers = model._base_manager.filter(**{relation.field.name: athlete.pk})
            _forget_log(model, [str(pk) for pk in numbers.values_list("pk", flat=True)])


def _forget_log_of(record: Model) -> None:
    _forget_log(type(record), [str(record.pk)])


def _forget_log(model: type[Model], numbers: Collection[str]) -> None:
    kind = ContentType.objects.get_for_model(model)
    lines = LogEntry.objects.filter(content_type=kind)
    # A long log of attempts is gone through in pieces: databases limit one query's values.
    chosen = list(numbers)
    for start in range(0, len(chosen), 500):
        lines.filter(object_id__in=chosen[start : start + 500]).update(
            object_repr=ERASED, change_message=""
        )
