"""The records. Inside this package import the file; from outside, import from here."""

from progress.models.attempts import Attempt, AttemptsAreNeverChanged, ResultChoice
from progress.models.classes import Enrolment, GymClass, Meeting, RegisterEntry, Weekday
from progress.models.decisions import Hold, HoldReason, SignOff
from progress.models.family import (
    Consent,
    ConsentKind,
    ErasureRequest,
    FamilyCode,
    FamilyLink,
    HomeIdea,
    MailSent,
)
from progress.models.floor import Loop, LoopStop
from progress.models.ladders import Ladder, LookFor, Skill, SkillNeed, Tier
from progress.models.people import Athlete, Challenge, Guardian, Guardianship, Role, StaffMember
from progress.models.plans import PlanChoice
from progress.models.rulebooks import Calibration, RuleBook, SkillChange, SkillRule
from progress.models.setups import Area, Setup
from progress.models.sheets import Note, SheetSkill
from progress.models.standings import DecisionChoice, Standing
from progress.models.stations import (
    ConstraintChoice,
    Equipment,
    Mat,
    Station,
    StationEquipment,
    StationKind,
    Variant,
)

__all__ = [
    "Area",
    "Athlete",
    "Attempt",
    "AttemptsAreNeverChanged",
    "Calibration",
    "Challenge",
    "Consent",
    "ConsentKind",
    "ConstraintChoice",
    "DecisionChoice",
    "Enrolment",
    "Equipment",
    "ErasureRequest",
    "FamilyCode",
    "FamilyLink",
    "Guardian",
    "Guardianship",
    "GymClass",
    "Hold",
    "HoldReason",
    "HomeIdea",
    "Ladder",
    "LookFor",
    "Loop",
    "LoopStop",
    "MailSent",
    "Mat",
    "Meeting",
    "Note",
    "PlanChoice",
    "RegisterEntry",
    "ResultChoice",
    "Role",
    "RuleBook",
    "Setup",
    "SheetSkill",
    "SignOff",
    "Skill",
    "SkillChange",
    "SkillNeed",
    "SkillRule",
    "StaffMember",
    "Standing",
    "Station",
    "StationEquipment",
    "StationKind",
    "Tier",
    "Variant",
    "Weekday",
]
