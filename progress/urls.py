"""The site map: one line a page."""

from django.urls import path

from progress.pages.athletes.corrections import correct_attempt
from progress.pages.athletes.holds import athlete_hold, end_hold
from progress.pages.athletes.notes import athlete_notes, strike_note
from progress.pages.athletes.views import athlete_page
from progress.pages.checks.marking import sheet_register, sheet_skills
from progress.pages.checks.paper import sheet_print, sheet_typing
from progress.pages.checks.sending import send_checks, sheet_token, sheet_worker
from progress.pages.checks.views import check_sheet, sheet_summary
from progress.pages.classes.views import class_list, class_page
from progress.pages.families.views import (
    families,
    guardian_link,
    guardian_page,
    guardian_revoke,
    guardian_right,
)
from progress.pages.family.language import family_language
from progress.pages.family.opening import (
    family_close,
    family_code,
    family_code_enter,
    family_open,
)
from progress.pages.family.views import child_page, family_page
from progress.pages.home.views import home
from progress.pages.move_up.views import move_up_list

urlpatterns = [
    path("", home, name="home"),
    path("classes/", class_list, name="class_list"),
    path("classes/<str:code>/", class_page, name="class_page"),
    path("classes/<str:code>/checks/", check_sheet, name="check_sheet"),
    path("classes/<str:code>/checks/send/", send_checks, name="send_checks"),
    path("checks/token/", sheet_token, name="sheet_token"),
    path("sheet-worker.js", sheet_worker, name="sheet_worker"),
    path("classes/<str:code>/checks/register/", sheet_register, name="sheet_register"),
    path("classes/<str:code>/checks/skills/", sheet_skills, name="sheet_skills"),
    path("classes/<str:code>/checks/summary/", sheet_summary, name="sheet_summary"),
    path("classes/<str:code>/checks/print/", sheet_print, name="sheet_print"),
    path("classes/<str:code>/checks/typing/", sheet_typing, name="sheet_typing"),
    path("athletes/<str:code>/", athlete_page, name="athlete_page"),
    path("athletes/<str:code>/notes/", athlete_notes, name="athlete_notes"),
    path("athletes/<str:code>/notes/<int:number>/take-back/", strike_note, name="strike_note"),
    path("athletes/<str:code>/hold/", athlete_hold, name="athlete_hold"),
    path("athletes/<str:code>/holds/<int:number>/lift/", end_hold, name="end_hold"),
    path(
        "athletes/<str:code>/attempts/<str:uid>/correct/", correct_attempt, name="correct_attempt"
    ),
    path("move-up/", move_up_list, name="move_up_list"),
    path("families/", families, name="families"),
    path("families/<int:number>/", guardian_page, name="guardian_page"),
    path("families/<int:number>/link/", guardian_link, name="guardian_link"),
    path("families/<int:number>/revoke/", guardian_revoke, name="guardian_revoke"),
    path("families/<int:number>/rights/<str:code>/", guardian_right, name="guardian_right"),
    path("family/", family_page, name="family_page"),
    path("family/open/", family_open, name="family_open"),
    path("family/language/", family_language, name="family_language"),
    path("family/close/", family_close, name="family_close"),
    path("family/code/", family_code, name="family_code"),
    path("family/code/enter/", family_code_enter, name="family_code_enter"),
    path("family/child/<str:code>/", child_page, name="child_page"),
]
