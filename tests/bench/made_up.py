"""The made-up gym that the demo shows, as a case to predict; it goes through a real database."""

from datetime import date

from tests.bench import filled_site  # isort: skip  it sets Django up for the rest

from django.core.management import call_command

from progress.engine.predictions import split_day
from progress.models import Athlete, Skill
from progress.usecases.calibrate_gym import stored_priors
from progress.usecases.engine_inputs import Holds, read_log
from progress.usecases.make_gym import make_gym
from progress.usecases.tiers_then import tiers_then
from tests.bench.gyms import Case

TODAY = date(2026, 6, 29)
assert filled_site.RESULTS, "imported for what it does"


def made_up_case(seed: int) -> Case:
    """The gym of the demo for this seed, its first 60% of days for learning."""
    call_command("migrate", verbosity=0)
    call_command("flush", verbosity=0, interactive=False)
    make_gym(seed=seed, today=TODAY)
    athletes = list(Athlete.objects.order_by("code"))
    catalogue = Skill.objects.as_catalogue()
    log = read_log(catalogue, athletes, TODAY)
    first_day = split_day(log)
    return Case(
        name="the made-up gym",
        catalogue=catalogue,
        tiers=tiers_then(athletes=athletes, day=date.fromordinal(first_day)),
        log=log,
        first_day=first_day,
        variants=stored_priors(),
        pauses=Holds.read(athletes, TODAY).stretches(athletes),
    )
