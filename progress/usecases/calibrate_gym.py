"""The lead, or a weekly timer: learn difficulties and severities from the gym's own log."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from django.db.models import F, Prefetch, QuerySet

from progress.engine import terms
from progress.engine.calibration import VariantPrior, calibrate, variant_priors
from progress.engine.log import UNKNOWN, Log
from progress.engine.outcomes import Ints
from progress.engine.parameters import VERSION, Parameters
from progress.models import Athlete, Calibration, Skill, Station, Variant
from progress.usecases.engine_inputs import read_log


def week_start(day: date) -> date:
    """The Monday of the week of ``day``.

    Attempts before it are learnt from, so numbers do not shift between two classes of one week.
    """
    return day - timedelta(days=day.weekday())


def calibrate_gym(*, today: date) -> Calibration:
    """Learn from all attempts before this week; return the stored calibration.

    When nothing has changed since the last time the stored one is returned as it is.
    """
    catalogue = Skill.objects.as_catalogue()
    athletes = list(Athlete.objects.order_by("code"))
    log = read_log(catalogue, athletes, today)
    return calibrate_on(catalogue=catalogue, athletes=athletes, log=log, today=today)


def calibrate_on(
    *, catalogue: terms.Catalogue, athletes: Sequence[Athlete], log: Log, today: date
) -> Calibration:
    """The same for a log that has been read already; ``athletes`` are those of the log."""
    cutoff = week_start(today)
    used = _in_use(log.before(float(cutoff.toordinal())))
    tiers = [athlete.tier_id for athlete in athletes]
    priors = stored_priors()
    key = {
        "cutoff": cutoff,
        "engine_version": VERSION,
        "fingerprint": _fingerprint(catalogue, tiers, used, priors),
    }
    stored = Calibration.objects.filter(**key).first()
    if stored is None:
        parameters = calibrate(catalogue, tiers, used, priors)
        values = {"skills": [skill.code for skill in catalogue.skills], **parameters.as_json()}
        stored, _ = Calibration.objects.get_or_create(
            **key, defaults={"attempts": len(used), "values": values}
        )
    return stored


def _in_use(log: Log) -> Log:
    """The log without the names of coaches and variants that no attempt of it has.

    Who first recorded this week, or what first stood on the floor, would otherwise count as a
    changed log although nothing new is learnt from.
    """
    coaches, coach = _renumber(log.coaches, log.coach)
    variants, variant = _renumber(log.variants, log.variant)
    return replace(log, coaches=coaches, variants=variants, coach=coach, variant=variant)


def _renumber(names: tuple[str, ...], index: Ints) -> tuple[tuple[str, ...], Ints]:
    known = index != UNKNOWN
    used, place = np.unique(index[known], return_inverse=True)
    fresh = index.copy()
    fresh[known] = place
    return tuple(names[number] for number in used), fresh


@dataclass(frozen=True)
class Learnt:
    """The parameters in force, and the first day they know nothing of."""

    parameters: Parameters
    cutoff: date

    def knowing(self, variants: Iterable[str]) -> "Learnt":
        """With an offset for each of ``variants``: those newer than the calibration by their prior.

        Two queries where there is such a variant, else none.
        """
        unheard_of = sorted(set(variants) - set(self.parameters.variant))
        if not unheard_of:
            return self
        priors = stored_priors()
        newer = {code: priors[code].offset for code in unheard_of if code in priors}
        offsets = {**self.parameters.variant, **newer}
        return replace(self, parameters=replace(self.parameters, variant=offsets))


def learnt_by(*, catalogue: terms.Catalogue, today: date) -> Learnt:
    """What pages use on ``today``: the newest stored calibration, made now if there is none."""
    newest = calibrations_for(today).first() or calibrate_gym(today=today)
    return Learnt(read_parameters(newest, catalogue), newest.cutoff)


def is_calibrated(*, today: date) -> bool:
    """Whether ``learnt_by`` has a stored calibration to take, so that it answers at once."""
    return calibrations_for(today).exists()


def calibrations_for(today: date) -> QuerySet[Calibration]:
    """The calibrations pages may use on ``today``, the newest first."""
    return Calibration.objects.filter(engine_version=VERSION, cutoff__lte=week_start(today))


def read_parameters(stored: Calibration, catalogue: terms.Catalogue) -> Parameters:
    """The stored parameters in the order of ``catalogue``; skills added since keep their prior."""
    values = dict(stored.values)
    place = {code: number for number, code in enumerate(values.pop("skills"))}
    learnt, start = Parameters.from_json(values), Parameters.before_any_log(catalogue)
    known = [column for column, skill in enumerate(catalogue.skills) if skill.code in place]
    at = [place[catalogue.skills[column].code] for column in known]
    columns = {}
    for name in ("difficulty", "difficulty_sd", "help_gap"):
        columns[name] = getattr(start, name).copy()
        columns[name][known] = getattr(learnt, name)[at]
    return replace(learnt, **columns)


def stored_priors() -> dict[str, VariantPrior]:
    """Expected offsets of every variant; for a code used often the newest setup speaks."""
    # A floor without a week is older than any with one; databases disagree on where it belongs.
    weeks = F("setup__week").asc(nulls_first=True)
    variants = Prefetch("variants", Variant.objects.select_related("skill"))
    on_floors = Station.objects.filter(setup__published=True)
    stations = on_floors.order_by(weeks, "setup_id").prefetch_related(variants)
    return variant_priors([station.as_term() for station in stations])


def _fingerprint(
    catalogue: terms.Catalogue,
    tiers: Sequence[int],
    log: Log,
    priors: Mapping[str, VariantPrior],
) -> str:
    """A digest of everything a calibration depends on."""
    digest = hashlib.sha256(repr((catalogue, tiers, sorted(priors.items()))).encode())
    digest.update(repr((log.athletes, log.coaches, log.variants)).encode())
    for column in (log.athlete, log.skill, log.when, log.result, log.coach, log.variant):
        digest.update(np.ascontiguousarray(column).tobytes())
    return digest.hexdigest()
