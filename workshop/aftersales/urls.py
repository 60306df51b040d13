"""Addresses of the aftersales room: complaints, recalls and drills."""

from django.urls import path

from workshop.aftersales.complaints import views
from workshop.aftersales.recalls import action_views
from workshop.aftersales.recalls import views as recall_views

app_name = "aftersales"
urlpatterns = [
    path("complaints/", views.home, name="complaints"),
    path("complaints/new/", views.new, name="new-complaint"),
    path("complaints/shared/", views.shared, name="shared"),
    path("complaints/trends/", views.trends, name="trends"),
    path("complaints/<str:reference>/", views.complaint, name="complaint"),
    path("complaints/<str:reference>/note/", views.note, name="complaint-note"),
    path("complaints/<str:reference>/<str:what>/", views.act, name="complaint-act"),
    path("drills/", recall_views.drills, name="drills"),
    path("drills/new/", action_views.new_drill, name="new-drill"),
    path("recalls/", recall_views.home, name="recalls"),
    path("recalls/new/", action_views.new, name="new-recall"),
    path("recalls/<str:reference>/", recall_views.recall, name="recall"),
    path("recalls/<str:reference>/hold/", action_views.hold, name="recall-hold"),
    path("recalls/<str:reference>/terms/", action_views.terms, name="recall-terms"),
    path("recalls/<str:reference>/note/", action_views.note, name="recall-note"),
    path("recalls/<str:reference>/close/", action_views.close, name="close-recall"),
    path("recalls/<str:reference>/letters/", recall_views.letters, name="recall-letters"),
    path("recalls/<str:reference>/addresses/", recall_views.merge, name="recall-merge"),
    path("recalls/<str:reference>/report/", recall_views.report, name="recall-report"),
    path(
        "recalls/<str:reference>/customers/<int:pk>/",
        action_views.customer,
        name="recall-customer",
    ),
    path("recalls/<str:reference>/<str:section>/", recall_views.rows, name="recall-rows"),
]
