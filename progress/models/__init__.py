"""The records. Inside this package import the file; from outside, import from here."""

from progress.models.attempts import Attempt, AttemptsAreNeverChanged, ResultChoice
from progress.models.classes import Enrolment, GymClass, Meeting, RegisterEntry, Weekday
from progress.models.decisions import Calibration, Hold, HoldReason, RuleBook, SignOff
from progress.models.floor import Area, ConstraintChoice, Loop, LoopStop, Setup, Station, Variant
from progress.models.ladders import Ladder, LookFor, Skill, SkillNeed, Tier
from progress.models.people import Athlete, Guardian, Guardianship, Role, StaffMember
from progress.models.sheets import Note, SheetSkill

__all__ = [
    "Area",
    "Athlete",
    "Attempt",
    "AttemptsAreNeverChanged",
    "Calibration",
    "ConstraintChoice",
    "Enrolment",
    "Guardian",
    "Guardianship",
    "GymClass",
    "Hold",
    "HoldReason",
    "Ladder",
    "LookFor",
    "Loop",
    "LoopStop",
    "Meeting",
    "Note",
    "RegisterEntry",
    "ResultChoice",
    "Role",
    "RuleBook",
    "Setup",
    "SheetSkill",
    "SignOff",
    "Skill",
    "SkillNeed",
    "StaffMember",
    "Station",
    "Tier",
    "Variant",
    "Weekday",
]
