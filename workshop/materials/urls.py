"""Addresses of the materials room."""

from django.urls import path

from workshop.materials import blend_views, data_sheet_views, organic_views, usual_views, views

app_name = "materials"
urlpatterns = [
    path("", views.home, name="home"),
    path("usual/", usual_views.usual, name="usual"),
    path("new/", views.new_material, name="new-material"),
    path("new/packaging/", views.new_packaging, name="new-packaging"),
    path("use-limits/", views.use_limits, name="use-limits"),
    path("use-limits/<int:pk>/", views.use_limits, name="use-limit"),
    path("lots/<str:code>/allergens/", data_sheet_views.lot_contents, name="lot-allergens"),
    path("organic/", organic_views.schemes, name="organic-schemes"),
    path("organic/known/", organic_views.enter_known, name="enter-known-rules"),
    path("organic/schemes/new/", organic_views.edit_scheme, name="new-scheme"),
    path("organic/schemes/<int:pk>/", organic_views.edit_scheme, name="edit-scheme"),
    path("organic/entries/new/", organic_views.edit_entry, name="new-list-entry"),
    path("organic/entries/<int:pk>/", organic_views.edit_entry, name="edit-list-entry"),
    path("<str:code>/", views.material, name="material"),
    path("<str:code>/blend/new/", blend_views.new_blend, name="new-blend"),
    path("<str:code>/blend/<str:day>/", blend_views.correct_blend, name="blend"),
    path("<str:code>/allergens/", data_sheet_views.item_contents, name="material-allergens"),
    path("<str:code>/organic/new/", organic_views.edit_status, name="new-organic-status"),
    path("<str:code>/organic/<int:pk>/", organic_views.edit_status, name="organic-status"),
    path("<str:code>/change/", views.edit_material, name="edit-material"),
]
