"""Addresses of the kettle room."""

from django.urls import path

from workshop.kettle import views
from workshop.kettle.adjustments import views as mend_views
from workshop.kettle.equipment import views as equipment_views
from workshop.kettle.record import photo_and_timer_views
from workshop.kettle.record import views as act_views
from workshop.kettle.weighing import service_worker
from workshop.kettle.weighing import views as weigh_views

app_name = "kettle"
urlpatterns = [
    path("", views.home, name="home"),
    path("plan/", views.plan, name="plan"),
    path("worker.js", service_worker.worker, name="worker"),
    path("equipment/", equipment_views.equipment, name="equipment"),
    path("equipment/kettle/", equipment_views.kettle, name="new-kettle"),
    path("equipment/kettle/<int:pk>/", equipment_views.kettle, name="kettle"),
    path("equipment/kettle/<int:pk>/cleaning/", equipment_views.cleaning, name="cleaning"),
    path("equipment/scale/", equipment_views.scale, name="new-scale"),
    path("equipment/scale/<int:pk>/", equipment_views.scale, name="scale"),
    path("<str:reference>/", views.batch, name="batch"),
    path("<str:reference>/plan/", views.sheet, name="sheet"),
    path("<str:reference>/paper/", views.paper, name="paper"),
    path("<str:reference>/weigh/", weigh_views.weigh, name="weigh"),
    path("<str:reference>/weigh/<int:pk>/undo/", weigh_views.undo, name="undo"),
    path("<str:reference>/add/", weigh_views.add, name="add"),
    path("<str:reference>/mend/", mend_views.mend, name="mend"),
    path("<str:reference>/spoon/", mend_views.spoon, name="spoon"),
    path("<str:reference>/stand-in/<int:pk>/", mend_views.stand_in, name="stand-in"),
    path("<str:reference>/photo/", photo_and_timer_views.photo, name="photo"),
    path("<str:reference>/timer/", photo_and_timer_views.start_timer, name="timer"),
    path("<str:reference>/timer/<int:pk>/end/", photo_and_timer_views.end_timer, name="end-timer"),
    path("<str:reference>/check/", act_views.check, name="check"),
    path("<str:reference>/pour/", act_views.pour, name="pour"),
    path("<str:reference>/yield/<int:pk>/", act_views.mend_yield, name="yield"),
    path("<str:reference>/left/", act_views.left, name="left"),
    path("<str:reference>/left/<int:pk>/back/", act_views.left_back, name="left-back"),
    path("<str:reference>/release/", act_views.release, name="release"),
    path("<str:reference>/hold/", act_views.decide, {"act": "hold"}, name="hold"),
    path("<str:reference>/reject/", act_views.decide, {"act": "reject"}, name="reject"),
    path("<str:reference>/amend/", act_views.decide, {"act": "amend"}, name="amend"),
    path("<str:reference>/stop/", act_views.abandon, name="abandon"),
    path("<str:reference>/close/", act_views.close, name="close"),
]
