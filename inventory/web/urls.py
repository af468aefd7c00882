"""The pages' addresses."""

from django.urls import path, register_converter

from inventory.web.views import (
    acts,
    alerts,
    asking_for,
    bench,
    bins,
    bits,
    changing,
    closing,
    first,
    handbook,
    home,
    imports,
    items,
    labels,
    lending,
    lots,
    orderplan,
    orders,
    pictures,
    plan,
    planning,
    receiving,
    shop,
    suppliers,
    tray,
    weighing,
)


class Small:
    """A whole number that any table's key could be."""

    regex = "[0-9]{1,9}"

    def to_python(self, value: str) -> int:
        """From the address."""
        return int(value)

    def to_url(self, value: int) -> str:
        """Into the address."""
        return str(value)


register_converter(Small, "small")

urlpatterns = [
    path("", home.home, name="home"),
    path("first/", first.first, name="first"),
    path("first/steps/", first.steps, name="steps"),
    path("first/steps/letter/", first.letter_came, name="steps-letter"),
    path("first/steps/over/", first.steps_over, name="steps-over"),
    path("sign-in/", shop.SignIn.as_view(), name="sign-in"),
    path("sign-out/", shop.SignOut.as_view(), name="sign-out"),
    path("bench/", bench.bench, name="bench"),
    path("bench/pair/<small:this>/<small:asked>/", bench.pair, name="bench-pair"),
    path("bench-offline.js", bench.offline, name="bench-offline"),
    path("S/<str:code>", bench.label, name="label"),
    path("s/<str:code>", bench.label, name="label-small"),
    path("plan/", plan.plan, name="plan"),
    path("plan/import/", imports.plan_import, name="plan-import"),
    path("plan/import/apply/", imports.plan_apply, name="plan-apply"),
    path("plan/example.csv", imports.plan_csv, name="plan-example"),
    path("plan/plan.csv", plan.plan_csv, name="plan-csv"),
    path("plan/plan.xlsx", plan.plan_xlsx, name="plan-xlsx"),
    path("plan/history/", planning.history, name="plan-history"),
    path("plan/history/<small:pk>/back/", planning.change_back, name="change-back"),
    path("plan/lists/drop/", planning.list_drop, name="list-drop"),
    path("plan/stages/", planning.stage_new, name="stage-new"),
    path("stages/<small:pk>/name/", planning.stage_name, name="stage-name"),
    path("stages/<small:pk>/copy/", planning.stage_copy, name="stage-copy"),
    path("stages/<small:pk>/split/", planning.stage_split, name="stage-split"),
    path("stages/<small:pk>/drop/", planning.stage_drop, name="stage-drop"),
    path("stages/<small:pk>/assemblies/", planning.assembly_new, name="assembly-new"),
    path("assemblies/<small:pk>/plan/", asking_for.assembly_plan, name="assembly-plan"),
    *(
        path(
            f"assemblies/<small:pk>/{name}/",
            getattr(asking_for, f"assembly_{name}"),
            name=f"assembly-{name}",
        )
        for name in ("change", "lines", "ask", "drill", "seam", "copy", "split", "drop")
    ),
    path("assemblies/<small:pk>/move/", planning.assembly_move, name="assembly-move"),
    path("stages/<small:pk>/", plan.stage, name="stage"),
    path("stages/<small:pk>/date/", plan.stage_date, name="stage-date"),
    path("stages/<small:pk>/skip/", plan.stage_skip, name="stage-skip"),
    path("stages/<small:pk>/move/", plan.stage_move, name="stage-move"),
    path("assemblies/<small:pk>/", plan.assembly, name="assembly"),
    path("assemblies/<small:pk>/close-up/", closing.close, name="close-up"),
    path("assemblies/<small:pk>/record/", closing.record, name="assembly-record"),
    path(
        "assemblies/<small:pk>/photographs/",
        closing.photograph_in,
        name="photograph-in",
    ),
    path("lots/<small:pk>/", lots.lot, name="lot"),
    path("photographs/<small:pk>.jpg", closing.photograph, name="photograph"),
    path(
        "assemblies/<small:pk>/instead/<small:item>/",
        plan.assembly_instead,
        name="assembly-instead",
    ),
    path("assemblies/<small:pk>/reopen/", plan.assembly_reopen, name="assembly-reopen"),
    path("acts/", acts.acts, name="acts"),
    path("acts/<small:pk>/undo/", acts.act_undo, name="act-undo"),
    path("bins/", bins.bins, name="bins"),
    path("bins/new/", bins.bin_new, name="bin-new"),
    path("bins/<small:number>/", bins.bin, name="bin"),
    path("bins/<small:number>/book/", bins.bin_book, name="bin-book"),
    path("bins/<small:number>/lend/", lending.lend, name="bin-lend"),
    path("bins/<small:number>/move/", lending.move, name="bin-move"),
    path("lent/", lending.lent, name="lent"),
    path("lent/<small:place>/<small:item>/", lending.lent_until, name="lent-until"),
    path("bins/<small:number>/retire/", bins.bin_retire, name="bin-retire"),
    path("bins/<small:number>/use/", bins.bin_use, name="bin-use"),
    path("bins/<small:number>/weigh/", weighing.bin_weigh, name="bin-weigh"),
    path("bins/<small:number>/change/", bins.bin_change, name="bin-change"),
    path("stock/import/", imports.stock_import, name="stock-import"),
    path("stock/import/apply/", imports.stock_apply, name="stock-apply"),
    path("stock/example.csv", imports.stock_csv, name="stock-example"),
    path("items/", items.items, name="items"),
    path("items/<small:pk>/", items.item, name="item"),
    *(
        path(
            f"items/<small:pk>/{name}/",
            getattr(changing, f"item_{name}"),
            name=f"item-{name}",
        )
        for name in ("name", "really", "names", "unname")
    ),
    path(
        "items/changes/<small:pk>/back/",
        changing.item_change_back,
        name="item-change-back",
    ),
    path("items/<small:pk>/run-out/", pictures.item_run_out, name="item-run-out"),
    path(
        "items/<small:pk>/run-out.svg",
        pictures.item_run_out_svg,
        name="item-run-out-svg",
    ),
    path("pool/", pictures.pool, name="pool"),
    path("pool/<small:at>.svg", pictures.pool_svg, name="pool-svg"),
    path("bits/wear.svg", pictures.bits_svg, name="bits-svg"),
    path("grid/", pictures.grid, name="grid"),
    path("items/<small:pk>/why/", items.item_why, name="item-why"),
    path("items/<small:pk>/weigh/", items.item_weigh, name="item-weigh"),
    path("unread/", items.unread, name="unread"),
    path("unread/teach/", items.teach, name="teach"),
    path("bits/", bits.bits, name="bits"),
    path("bits/<small:number>/event/", bits.bit_event, name="bit-event"),
    path("bits/<small:number>/event/back/", bits.bit_event_back, name="bit-event-back"),
    path("orders/", orders.orders, name="orders"),
    path("orders/new/", orders.order_new, name="order-new"),
    path("order-plan/", orderplan.order_plan, name="order-plan"),
    path("order-plan/cancel/", orderplan.order_plan_cancel, name="order-plan-cancel"),
    path(
        "order-plan/<small:pk>/orders/",
        orderplan.order_plan_orders,
        name="order-plan-orders",
    ),
    path("suppliers/", suppliers.suppliers, name="suppliers"),
    path("suppliers/<small:pk>/", suppliers.supplier, name="supplier"),
    path("suppliers/<small:pk>/offers/", suppliers.offer_new, name="offer-new"),
    path("offers/<small:pk>/", suppliers.offer, name="offer"),
    path("offers/<small:pk>/drop/", suppliers.offer_drop, name="offer-drop"),
    path("offers/import/", imports.offers_import, name="offers-import"),
    path("offers/import/apply/", imports.offers_apply, name="offers-apply"),
    path("offers/example.csv", imports.offers_csv, name="offers-example"),
    path("orders/<small:number>/", orders.order, name="order"),
    path("orders/<small:number>/list/", orders.shopping, name="shopping-list"),
    path("orders/<small:number>/list.csv", orders.shopping_csv, name="shopping-csv"),
    path("orders/<small:number>/expect/", orders.expect, name="order-expect"),
    path("orders/<small:number>/back/", orders.order_back, name="order-back"),
    path("orders/<small:number>/lines/", orders.line_new, name="line-new"),
    path("order-lines/<small:pk>/drop/", orders.line_drop, name="line-drop"),
    path("order-lines/<small:pk>/wait/", orders.line_wait, name="line-wait"),
    path("order-lines/<small:pk>/change/", orders.line_change, name="line-change"),
    path("order-lines/<small:pk>/receive/", receiving.line_in, name="receive-line"),
    path("receive/bag/", receiving.bag, name="receive-bag"),
    path("receive/", receiving.loose, name="receive"),
    path("receive/<small:number>/", receiving.loose_in, name="receive-bin"),
    path("alerts/", alerts.alerts, name="alerts"),
    path("alerts/<small:pk>/seen/", alerts.seen, name="alert-seen"),
    path("alerts/<small:pk>/snooze/", alerts.snooze, name="alert-snooze"),
    path("lookup/", handbook.index, name="lookup-index"),
    path("lookup/<slug:name>/", handbook.lookup, name="lookup"),
    path("labels/", labels.labels, name="labels"),
    path("labels/cards/", labels.cards, name="cards"),
    path("tray/", tray.tray, name="tray"),
    path("tray/sheet/", tray.tray_sheet, name="tray-sheet"),
    path("assemblies/<small:pk>/sheet/", labels.assembly_sheet, name="assembly-sheet"),
    path("settings/", shop.settings_page, name="settings"),
    path("settings/backup/", shop.backup_now, name="backup-now"),
    path("settings/letter/", shop.letter_test, name="letter-test"),
    path("settings/record/", shop.record_mend, name="record-mend"),
    path("settings/devices/", shop.device_new, name="device-new"),
    path(
        "settings/devices/<small:pk>/revoke/", shop.device_revoke, name="device-revoke"
    ),
]
