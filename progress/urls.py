"""The site map: one line a page."""

from django.urls import path

from progress.pages.athletes.views import athlete_page
from progress.pages.checks.views import check_sheet
from progress.pages.classes.views import class_list, class_page
from progress.pages.family.views import child_page, family_page
from progress.pages.home.views import home
from progress.pages.move_up.views import move_up_list

urlpatterns = [
    path("", home, name="home"),
    path("classes/", class_list, name="class_list"),
    path("classes/<str:code>/", class_page, name="class_page"),
    path("classes/<str:code>/checks/", check_sheet, name="check_sheet"),
    path("athletes/<str:code>/", athlete_page, name="athlete_page"),
    path("move-up/", move_up_list, name="move_up_list"),
    path("family/", family_page, name="family_page"),
    path("family/<str:code>/", child_page, name="child_page"),
]
