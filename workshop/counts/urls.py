"""Addresses of counts and places."""

from django.urls import path

from workshop.counts import views
from workshop.counts.places import views as places

app_name = "counts"
urlpatterns = [
    path("", views.home, name="home"),
    path("due/", views.due, name="due"),
    path("classes/", views.classes, name="classes"),
    path("begin/", views.new, name="new"),
    path("places/", places.places, name="places"),
    path("places/new/", places.edit, name="new-place"),
    path("places/tags.pdf", places.tags, name="place-tags"),
    path("places/for/<str:code>/", places.where, name="where"),
    path("places/<str:code>/", places.place, name="place"),
    path("places/<str:code>/change/", places.edit, name="edit-place"),
    path("places/<str:code>/tag.pdf", places.tag, name="place-tag"),
    path("<str:reference>/", views.round_, name="round"),
    path("<str:reference>/count/", views.count, name="count"),
    path("<str:reference>/count/<str:code>/", views.line, name="line"),
    path("<str:reference>/sheet.pdf", views.sheet, name="sheet"),
    path("<str:reference>/enter/", views.enter, name="enter"),
    path("<str:reference>/end/", views.end, name="end"),
]
