"""Where mills, orders and deliveries live under the API, and what a mill's key opens."""

from django.urls import path

from inventory.deliveries import views as deliveries
from inventory.mill_side import key_views
from inventory.mill_side import views as mill_side
from inventory.mills import views as mills
from inventory.order_forms import views as order_forms
from inventory.orders import views as orders

urlpatterns = [
    path("mills", mills.Mills.as_view()),
    path("mills/<uuid:id>", mills.OneMill.as_view()),
    path("mills/<uuid:id>/form", mills.OneForm.as_view()),
    path("mills/<uuid:id>/forms", mills.Forms.as_view()),
    path("mill-forms/fields", mills.FormFields.as_view()),
    path("mill-forms/preview", mills.FormPreview.as_view()),
    path("orders", orders.Orders.as_view()),
    path("orders/<uuid:id>", orders.OneOrder.as_view()),
    path("orders/<uuid:id>/lines", orders.OrderLines.as_view()),
    path("orders/<uuid:id>/figures", orders.OrderFigures.as_view()),
    path("orders/<uuid:id>/figures.xlsx", orders.OrderFiguresWorkbook.as_view()),
    path("orders/<uuid:id>/history", orders.OrderHistory.as_view()),
    path("orders/<uuid:id>/send", orders.SendOrder.as_view()),
    path("orders/<uuid:id>/confirm", orders.ConfirmOrder.as_view()),
    path("orders/<uuid:id>/withdraw", orders.WithdrawOrder.as_view()),
    path("orders/<uuid:id>/close", orders.CloseOrder.as_view()),
    path("orders/<uuid:id>/form", orders.OrderForm.as_view()),
    path("orders/<uuid:id>/form.csv", order_forms.OrderCsv.as_view()),
    path("orders/<uuid:id>/form.xlsx", order_forms.OrderWorkbook.as_view()),
    path("orders/<uuid:id>/form.pdf", order_forms.OrderPdf.as_view()),
    path("orders/<uuid:id>/reconciliation", deliveries.OrderAccount.as_view()),
    path("orders/<uuid:id>/proposals", key_views.Proposals.as_view()),
    path("orders/<uuid:id>/mill-keys", key_views.MillKeys.as_view()),
    path("orders/<uuid:id>/mill-keys/<uuid:key>", key_views.OneMillKey.as_view()),
    path("mill-keys/<uuid:id>/revoke", key_views.RevokeMillKey.as_view()),
    path("proposals/<uuid:id>/accept", key_views.AcceptProposal.as_view()),
    path("proposals/<uuid:id>/decline", key_views.DeclineProposal.as_view()),
    path("deliveries", deliveries.Deliveries.as_view()),
    path("deliveries/<uuid:id>", deliveries.OneDelivery.as_view()),
    path("deliveries/<uuid:id>/tally", deliveries.DeliveryTally.as_view()),
    path("deliveries/<uuid:id>/receive", deliveries.ReceiveDelivery.as_view()),
    path("deliveries/<uuid:id>/logs", deliveries.DeliveredLogs.as_view()),
    path("delivered-logs/<uuid:id>/reject", deliveries.RejectLog.as_view()),
    path("delivered-logs/<uuid:id>/accept", deliveries.AcceptLog.as_view()),
    path("delivered-logs/<uuid:id>/count-for", deliveries.CountFor.as_view()),
    path("mill/order", mill_side.MillOrder.as_view()),
    path("mill/order/form", mill_side.MillOrderForm.as_view()),
    path("mill/order/form.csv", mill_side.MillOrderCsv.as_view()),
    path("mill/order/form.xlsx", mill_side.MillOrderWorkbook.as_view()),
    path("mill/order/form.pdf", mill_side.MillOrderPdf.as_view()),
    path("mill/order/confirm", mill_side.MillConfirm.as_view()),
    path("mill/proposals", mill_side.MillProposals.as_view()),
    path("mill/proposals/<uuid:id>", mill_side.MillProposal.as_view()),
    path("mill/deliveries/<uuid:id>", mill_side.MillDelivery.as_view()),
    path("mill/deliveries/<uuid:id>/tally", mill_side.MillTally.as_view()),
]
