"""The site map: the admin, staff accounts, and every page of the gym."""

from allauth.account.decorators import secure_admin_login
from django.contrib import admin
from django.urls import include, path

admin.site.login = secure_admin_login(admin.site.login)  # type: ignore[method-assign]

urlpatterns = [
    path("admin/", admin.site.urls),
    path("accounts/", include("allauth.urls")),
    path("", include("progress.urls")),
]
