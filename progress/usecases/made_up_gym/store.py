"""Store a planned gym in bulk; the caller holds the transaction."""

from datetime import timedelta

from progress.engine.parameters import VERSION
from progress.models import (
    Area,
    Athlete,
    Attempt,
    Enrolment,
    Guardian,
    Guardianship,
    GymClass,
    Hold,
    HoldReason,
    Loop,
    LoopStop,
    Meeting,
    RegisterEntry,
    RuleBook,
    Setup,
    SignOff,
    Skill,
    StaffMember,
    Station,
    Tier,
    Variant,
)
from progress.usecases.made_up_gym.checks import AttemptPlan
from progress.usecases.made_up_gym.plan import GymPlan, HoldPlan
from progress.usecases.made_up_gym.scenario import WeekPlan
from progress.usecases.made_up_gym.year import weekday_of
from progress.usecases.stock_library import add_stations

BATCH = 500
STORED_AFTER = timedelta(minutes=1)  # from the tap to the record


def store_gym(plan: GymPlan) -> None:
    """Store people, classes, floors, registers, holds, the log and moves up, in this order."""
    StaffMember.objects.bulk_create(
        StaffMember(code=member.code, name=member.name, role=member.role)
        for member in plan.scenario.staff
    )
    store_athletes(plan)
    store_classes(plan)
    store_floors(plan)
    store_registers(plan)
    for hold in plan.holds:
        store_hold(plan, hold)
    store_attempts(plan)
    store_moves(plan)


def store_athletes(plan: GymPlan) -> None:
    """Store the children and their guardians."""
    Athlete.objects.bulk_create(
        Athlete(
            code=child.code,
            name=child.name,
            birth_date=child.birth,
            tier_id=child.tier,
            joined=child.joined,
            left=child.left,
        )
        for child in plan.children
    )
    athletes = Athlete.objects.in_bulk(field_name="code")
    adults = Guardian.objects.bulk_create(
        Guardian(name=adult.name, email=adult.email) for adult in plan.guardians
    )
    Guardianship.objects.bulk_create(
        Guardianship(guardian=adult, athlete=athletes[code])
        for adult, planned in zip(adults, plan.guardians, strict=True)
        for code in planned.athletes
    )


def store_classes(plan: GymPlan) -> None:
    """Store the classes with their coaches and children."""
    staff = StaffMember.objects.in_bulk(field_name="code")
    athletes = Athlete.objects.in_bulk(field_name="code")
    for planned in plan.scenario.classes:
        gym_class = GymClass(
            code=planned.code,
            weekday=weekday_of(planned, plan.year.today),
            starts_at=planned.starts_at,
            minutes=planned.minutes,
            small_area=planned.small_area,
            adults=planned.adults,
            spotters=planned.spotters,
            places=planned.places,
        )
        gym_class.name = planned.name.format(day=gym_class.get_weekday_display())
        gym_class.save()
        gym_class.coaches.set([staff[code] for code in planned.coaches])
        gym_class.tiers.set(Tier.objects.filter(number__in=planned.tiers))
        Enrolment.objects.bulk_create(
            Enrolment(
                athlete=athletes[child.code],
                gym_class=gym_class,
                since=child.joined,
                until=child.left,
            )
            for child in plan.children
            if child.class_ is planned
        )


def store_floors(plan: GymPlan) -> None:
    """Store the areas and the published floor of each recorded week."""
    areas = {area["code"]: Area(**area) for area in plan.scenario.areas}
    Area.objects.bulk_create(areas.values())
    for number, week in plan.floors.weeks.items():
        setup = Setup.objects.create(week=plan.year.mondays[number], name=week.name)
        stations = store_stations(plan, setup, week)
        for order, planned in enumerate(week.loops, start=1):
            loop = Loop.objects.create(
                setup=setup,
                area=areas[planned.area],
                code=planned.code,
                name=planned.name,
                order=order,
            )
            LoopStop.objects.bulk_create(
                LoopStop(loop=loop, station=stations[code], position=position)
                for position, code in enumerate(planned.stations, start=1)
            )


def store_stations(plan: GymPlan, setup: Setup, week: WeekPlan) -> dict[str, Station]:
    """Store a week's stations with their variants; loops that meet share a station."""
    codes = dict.fromkeys(code for loop in week.loops for code in loop.stations)
    add_stations(setup, [plan.floors.stations[code] for code in codes])
    stations = {station.code: station for station in setup.stations.all()}
    for code, rated in plan.scenario.mats_rated.items():
        setup.stations.filter(code=code).update(mat_rated_m=rated)
    return stations


def store_registers(plan: GymPlan) -> None:
    """Store the meetings and who came."""
    classes = GymClass.objects.in_bulk(field_name="code")
    meetings = Meeting.objects.bulk_create(
        Meeting(gym_class=classes[code], day=day) for code, day in plan.register
    )
    athletes = Athlete.objects.in_bulk(field_name="code")
    entries = [
        RegisterEntry(meeting=meeting, athlete=athletes[code], present=present)
        for meeting, row in zip(meetings, plan.register.values(), strict=True)
        for code, present in row.items()
    ]
    RegisterEntry.objects.bulk_create(entries, batch_size=BATCH)


def store_hold(plan: GymPlan, hold: HoldPlan) -> None:
    """Store one hold, placed and lifted by the lead."""
    words = plan.scenario.words
    lead = StaffMember.objects.get(code=plan.scenario.lead.code)
    in_force = hold.lifted is None
    Hold.objects.create(
        athlete=Athlete.objects.get(code=hold.athlete),
        starts=hold.starts,
        review=hold.review,
        lifted=hold.lifted,
        lifted_by=None if in_force else lead,
        kind=HoldReason.INJURY if in_force else HoldReason.ABSENCE,
        reason=words["hold_in_force"] if in_force else words["hold_lifted"],
        placed_by=lead,
    )


def store_attempts(plan: GymPlan) -> None:
    """Store the log: first the attempts, then the corrections that supersede some of them."""
    links = Links(plan)
    first = [attempt for attempt in plan.attempts if attempt.supersedes is None]
    later = [attempt for attempt in plan.attempts if attempt.supersedes is not None]
    stored = Attempt.objects.bulk_create(map(links.attempt, first), batch_size=BATCH)
    links.superseded = {attempt.uid: attempt for attempt in stored}
    Attempt.objects.bulk_create(map(links.attempt, later), batch_size=BATCH)


def store_moves(plan: GymPlan) -> None:
    """Store the lead's decisions, oldest first; their snapshots say that nothing was asked."""
    lead = StaffMember.objects.get(code=plan.scenario.lead.code)
    athletes = Athlete.objects.in_bulk(field_name="code")
    rules = RuleBook.in_force().version
    SignOff.objects.bulk_create(
        SignOff(
            athlete=athletes[move.athlete],
            from_tier_id=move.from_tier,
            to_tier_id=move.to_tier,
            decided_by=lead,
            decided_at=move.at,
            sentence=move.sentence,
            engine_said={"as_of": move.at.date().isoformat(), "note": plan.scenario.words["said"]},
            engine_version=VERSION,
            rules_version=rules,
            stays=move.stays,
            undone_at=move.undone_at,
            undone_by=lead if move.undone_at else None,
        )
        for move in plan.moves
    )


class Links:
    """The stored records that attempts point at, looked up once."""

    def __init__(self, plan: GymPlan) -> None:
        self.mondays = plan.year.mondays
        self.athletes = Athlete.objects.in_bulk(field_name="code")
        self.skills = Skill.objects.in_bulk(field_name="code")
        self.staff = StaffMember.objects.in_bulk(field_name="code")
        self.meetings = {
            (meeting.gym_class.code, meeting.day): meeting
            for meeting in Meeting.objects.select_related("gym_class")
        }
        self.variants = {
            (variant.station.setup.week, variant.code): variant
            for variant in Variant.objects.select_related("station__setup")
        }
        self.superseded: dict[str, Attempt] = {}

    def attempt(self, planned: AttemptPlan) -> Attempt:
        """The record of one planned attempt, not stored yet."""
        week = self.mondays[planned.week]
        return Attempt(
            uid=planned.uid,
            athlete=self.athletes[planned.athlete],
            skill=self.skills[planned.skill],
            variant=self.variants[week, planned.variant] if planned.variant else None,
            at=planned.at,
            result=planned.result.value,
            coach=self.staff[planned.coach],
            meeting=self.meetings[planned.class_code, planned.day],
            note=planned.note,
            supersedes=self.superseded[planned.supersedes] if planned.supersedes else None,
            reason=planned.reason,
            stored_at=planned.at + STORED_AFTER,
        )
