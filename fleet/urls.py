"""Addresses: the whole project's, in one place."""

from django.urls import include, path

urlpatterns = [path("", include("fleet.addresses"))]
