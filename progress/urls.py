"""The site map: one line a page."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
