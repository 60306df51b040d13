"""Addresses of the labels room."""

from django.urls import path

from workshop.labels.approval import views as version_views
from workshop.labels.art import views as art_views
from workshop.labels.design import views as design_views
from workshop.labels.market_sheets import views as market_views
from workshop.labels.printing import run_views, views

app_name = "labels"
urlpatterns = [
    path("", views.home, name="home"),
    path("to-print/", views.unlabelled, name="unlabelled"),
    path("untrue/", run_views.untrue, name="untrue"),
    path("untrue/waiting/", run_views.untrue_waiting, name="untrue-waiting"),
    path("sizes/", design_views.sizes, name="sizes"),
    path("sizes/new/", design_views.new_size, name="new-size"),
    path("sizes/<int:pk>/", design_views.change_size, name="change-size"),
    path("firms/", market_views.parties, name="parties"),
    path("firms/new/", market_views.new_party, name="new-party"),
    path("firms/<int:pk>/", market_views.change_party, name="change-party"),
    path("words/", market_views.words, name="words"),
    path("names/", market_views.names, name="names"),
    path("products/<str:code>/art/", art_views.art, name="art"),
    path("products/<str:code>/art/typed/", art_views.art_typed, name="art-typed"),
    path("products/<str:code>/claims/", market_views.claims, name="claims"),
    path("products/<str:code>/markets/<str:market>/", market_views.sheet, name="sheet"),
    path(
        "products/<str:code>/markets/<str:market>/approve/",
        market_views.approve_sheet,
        name="approve-sheet",
    ),
    path("products/<str:code>/", design_views.product, name="product"),
    path("products/<str:code>/design/", design_views.design, name="design"),
    path("products/<str:code>/draft/<str:market>/", version_views.draft, name="draft"),
    path("versions/<int:pk>/", version_views.version, name="version"),
    path("versions/<int:pk>/typed/", version_views.typed, name="typed"),
    path("versions/<int:pk>/approve/", version_views.approve, name="approve"),
    path("versions/<int:pk>/retire/", version_views.retire, name="retire"),
    path("versions/<int:pk>/roll/", version_views.roll, name="roll"),
    path("versions/<int:pk>/discard/", version_views.discard, name="discard"),
    path("kettle/<str:reference>/tag.pdf", run_views.kettle_tag, name="kettle-tag"),
    path("prints/<int:pk>/labels.pdf", run_views.printed, name="printed"),
    path("prints/<int:pk>/again/", run_views.print_again, name="print-again"),
    path("<str:code>/", views.label, name="label"),
    path("<str:code>/preview/", views.preview, name="preview"),
    path("<str:code>/press/", art_views.press, name="press"),
    path("<str:code>/print/", views.print_form, name="print"),
    path("<str:code>/sticker/", views.print_sticker, name="sticker"),
    path("<str:code>/carton/", run_views.carton, name="carton"),
    path("<str:code>/count/", run_views.count, name="count"),
    path("<str:code>/decide/", run_views.decide, name="decide"),
    path("<str:code>/standing/", run_views.standing, name="standing"),
]
