"""Addresses of complaints, recalls and drills, within those of the trace room."""

from django.urls import path

from workshop.trace import complaint_views, recall_act_views, recall_views

urlpatterns = [
    path("complaints/", complaint_views.home, name="complaints"),
    path("complaints/new/", complaint_views.new, name="new-complaint"),
    path("complaints/shared/", complaint_views.shared, name="shared"),
    path("complaints/trends/", complaint_views.trends, name="trends"),
    path("complaints/<str:reference>/", complaint_views.complaint, name="complaint"),
    path("complaints/<str:reference>/note/", complaint_views.note, name="complaint-note"),
    path("complaints/<str:reference>/<str:what>/", complaint_views.act, name="complaint-act"),
    path("drills/", recall_views.drills, name="drills"),
    path("drills/new/", recall_act_views.new_drill, name="new-drill"),
    path("recalls/", recall_views.home, name="recalls"),
    path("recalls/new/", recall_act_views.new, name="new-recall"),
    path("recalls/<str:reference>/", recall_views.recall, name="recall"),
    path("recalls/<str:reference>/hold/", recall_act_views.hold, name="recall-hold"),
    path("recalls/<str:reference>/terms/", recall_act_views.terms, name="recall-terms"),
    path("recalls/<str:reference>/note/", recall_act_views.note, name="recall-note"),
    path("recalls/<str:reference>/close/", recall_act_views.close, name="close-recall"),
    path("recalls/<str:reference>/letters/", recall_views.letters, name="recall-letters"),
    path("recalls/<str:reference>/addresses/", recall_views.merge, name="recall-merge"),
    path("recalls/<str:reference>/report/", recall_views.report, name="recall-report"),
    path(
        "recalls/<str:reference>/customers/<int:pk>/",
        recall_act_views.customer,
        name="recall-customer",
    ),
    path("recalls/<str:reference>/<str:section>/", recall_views.rows, name="recall-rows"),
]
