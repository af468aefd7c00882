"""The API's addresses, version 1."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
