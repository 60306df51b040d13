"""Addresses of the formulas room."""

from django.urls import path

from workshop.formulas import views
from workshop.formulas.draft import one_page_views
from workshop.formulas.soap import views as soap_views

app_name = "formulas"
urlpatterns = [
    path("", views.home, name="home"),
    path("whole/", one_page_views.whole, name="whole"),
    path("new/", views.edit, name="new"),
    path("bulk/", views.bulks, name="bulks"),
    path("bulk/new/", views.bulk, name="new-bulk"),
    path("bulk/<int:pk>/", views.bulk, name="bulk"),
    path("<int:pk>/", views.formula, name="formula"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("<int:pk>/begin/", views.begin, name="begin"),
    path("<int:pk>/compare/", views.comparison, name="compare"),
    path("version/<int:pk>/", views.version, name="version"),
    path("version/<int:pk>/soap/", soap_views.design, name="design"),
    path("version/<int:pk>/draft/", views.draft, name="draft"),
    path("version/<int:pk>/paper/", views.paper, name="paper"),
    path("version/<int:pk>/approve/", views.approve, name="approve"),
    path("version/<int:pk>/retire/", views.retire, name="retire"),
    path("version/<int:pk>/discard/", views.discard, name="discard"),
]
