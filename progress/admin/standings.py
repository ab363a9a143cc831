"""Whatever is stored one record at a time, as in the admin, makes the athlete's standing old.

The use cases that store many records at once send no such signals and note it themselves. Nothing
is worked out here: the standing is mended at night, or by the lead's board.
"""

from typing import Any

from django.db.models.signals import m2m_changed, post_delete, post_save, pre_save
from django.dispatch import receiver

from progress.models import Athlete, Attempt, Hold
from progress.usecases.standings.changed import note_changed

# What of an athlete an answer rests on, by the names a save may be limited to.
RESTS_ON = {"tier", "tier_id", "birth_date", "left"}


@receiver(post_save, sender=Athlete)
def athlete_stored(instance: Athlete, created: bool, **told: Any) -> None:
    """A new athlete has no standing yet, and one renamed has the same."""
    fields = told.get("update_fields")
    if not created and (fields is None or RESTS_ON & set(fields)):
        note_changed(athletes=[instance.pk])


@receiver(pre_save, sender=Hold)
def hold_moves(instance: Hold, **told: Any) -> None:
    """A hold placed on the wrong child is put right: whose it was changes as well."""
    if instance.pk is not None:
        stored = Hold.objects.filter(pk=instance.pk).order_by()
        note_changed(athletes=list(stored.values_list("athlete_id", flat=True)))


@receiver([post_save, post_delete], sender=Attempt)
@receiver([post_save, post_delete], sender=Hold)
@receiver(m2m_changed, sender=Hold.ladders.through)
def record_stored(instance: Attempt | Hold | object, **told: Any) -> None:
    """An attempt, a hold or the ladders of a hold; a ladder's own list of holds is not written."""
    if isinstance(instance, Attempt | Hold):
        note_changed(athletes=[instance.athlete_id])
