"""Every address of the book, room by room."""

from django.urls import include, path

handler404 = "workshop.core.web.error_pages.not_found"
handler500 = "workshop.core.web.error_pages.broken"
urlpatterns = [
    path("", include("workshop.front.urls")),
    path("", include("workshop.core.urls")),
    path("stock/", include("workshop.ledger.urls")),
    path("materials/", include("workshop.materials.urls")),
    path("goods-in/", include("workshop.goods_in.urls")),
    path("formulas/", include("workshop.formulas.urls")),
    path("kettle/", include("workshop.kettle.urls")),
    path("curing/", include("workshop.curing.urls")),
    path("packing/", include("workshop.packing.urls")),
    path("labels/", include("workshop.labels.urls")),
    path("dispatch/", include("workshop.dispatch.urls")),
    path("trace/", include("workshop.trace.urls")),
    path("aftersales/", include("workshop.aftersales.urls")),
    path("product-files/", include("workshop.dossier.urls")),
    path("costs/", include("workshop.costs.urls")),
    path("counts/", include("workshop.counts.urls")),
    path("week/", include("workshop.planning.urls")),
    path("workbench/", include("workshop.workbench.urls")),
    path("audit/", include("workshop.audit.urls")),
    path("organic/", include("workshop.organic.urls")),
    path("backups/", include("workshop.transfer.urls")),
]
