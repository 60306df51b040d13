"""Addresses of the front room."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from workshop.core.access import EVERYONE, allow
from workshop.front import views
from workshop.front.forms import SignInForm
from workshop.front.workplace import workplace

app_name = "front"
urlpatterns = [
    path("", views.today, name="today"),
    path("start/", views.first_steps, name="start"),
    path("start/workplace/", workplace, name="workplace"),
    path("today/<str:key>/", views.watch, name="watch"),
    path("scan/", views.scan, name="scan"),
    path(
        "sign-in/",
        LoginView.as_view(
            template_name="front/sign_in.html",
            authentication_form=SignInForm,
            redirect_authenticated_user=True,
        ),
        name="sign-in",
    ),
    path("sign-out/", allow(EVERYONE, write=EVERYONE)(LogoutView.as_view()), name="sign-out"),
    path("account/", views.account, name="account"),
    path("health/", views.health, name="health"),
]
