"""Addresses of the materials room."""

from django.urls import path

from workshop.materials import blend_views, data_sheet_views, views

app_name = "materials"
urlpatterns = [
    path("", views.home, name="home"),
    path("new/", views.new_material, name="new-material"),
    path("new/packaging/", views.new_packaging, name="new-packaging"),
    path("use-limits/", views.use_limits, name="use-limits"),
    path("use-limits/<int:pk>/", views.use_limits, name="use-limit"),
    path("lots/<str:code>/allergens/", data_sheet_views.lot_contents, name="lot-allergens"),
    path("<str:code>/", views.material, name="material"),
    path("<str:code>/blend/new/", blend_views.new_blend, name="new-blend"),
    path("<str:code>/blend/<str:day>/", blend_views.correct_blend, name="blend"),
    path("<str:code>/allergens/", data_sheet_views.item_contents, name="material-allergens"),
    path("<str:code>/change/", views.edit_material, name="edit-material"),
]
