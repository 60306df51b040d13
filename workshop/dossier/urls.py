"""Addresses of the dossier room."""

from django.urls import path

from workshop.dossier import views

app_name = "dossier"
urlpatterns = [
    path("", views.home, name="home"),
    path("small-business/", views.small, name="small"),
    path("<str:code>/", views.file, name="file"),
    path("<str:code>/file.pdf", views.paper, name="paper"),
    path("<str:code>/file.zip", views.archive, name="archive"),
    path("<str:code>/heading/<str:key>/", views.entry, name="entry"),
    path("<str:code>/notification/<str:market>/", views.notification, name="notification"),
    path(
        "<str:code>/notification/<str:market>/fields.csv",
        views.notification_csv,
        name="notification-csv",
    ),
    path("<str:code>/shop/<str:market>/", views.shop, name="shop"),
    path("<str:code>/shop/<str:market>/<str:kind>/", views.shop_file, name="shop-file"),
]
