"""The one error the house raises on purpose, and what it means to a door."""

from collections.abc import Mapping


class Refused(Exception):
    """Something was asked that the house will not do, and why.

    `code` is stable and dotted ("ledger.quantity"), for programs; `data` holds the
    figures behind it; `sentence` says in plain words what happened and what to do.
    Only the doors (web, api, commands) turn it into an answer.
    """

    def __init__(
        self, code: str, sentence: str, data: Mapping[str, object] | None = None
    ) -> None:
        super().__init__(sentence)
        self.code = code
        self.sentence = sentence
        self.data = dict(data or {})


# What a refusal means over HTTP, by status and room: 403 what others may do, 404 what
# is not there, 409 what stands against it as things are now, 422 an id that came with
# something else before, 429 what may be sent again in a moment, 400 what nobody could do
# as it was asked.
_MEANS: dict[int, dict[str, str]] = {
    403: {"ledger": "not_yours", "people": "may_not"},
    404: {
        "alerts": "no_alert",
        "catalog": "no_change no_item",
        "forecasting": "no_bit",
        "ledger": "no_act no_bin no_loan no_lot no_photograph",
        "lookup": "no_question",
        "people": "no_device no_log_link no_person no_sign_in",
        "planning": "no_assembly no_bin no_change no_stage",
        "scan": "no_bit no_order no_person",
        "supply": "no_line no_offer no_order no_plan no_supplier",
        "web": "no_drawing no_page no_upload",
    },
    409: {
        "catalog": "alias_taken called changed_since exists explained is_back merged several"
        " unlike unread",
        "forecasting": "bit_ends",
        "ledger": "bin_taken holds merged undone unlikely",
        "planning": "assembly_in_use changed_meanwhile changed_since closed closed_changes"
        " name_taken not_closed not_in_work taken_back",
        "supply": "came complete plan_ordered",
        "web": "preview_old",
    },
    422: {"ledger": "scan_id_reused"},
    429: {"photo": "busy"},
    400: {
        "alerts": "no_address not_sent snooze",
        "api": "after",
        "backup": "damaged flawed missing newer no_folder pictures unproven",
        "bag": "empty format gs1",
        "benchmark": "unknown",
        "callout": "ambiguous empty impossible incomplete kind unknown unknown_dash",
        "catalog": "form kind mass size text unit",
        "code": "check impossible shape",
        "countersink": "tools unknown",
        "drawing": "stack",
        "drill": "unknown",
        "driving": "alloy head material",
        "forecasting": "belief bit_first bit_used bits bursts event losses need not_a_drill pool record"
        " scores weighing",
        "head": "unknown",
        "hole": "unknown",
        "holder": "unknown",
        "labels": "dpi none offset paper sheet size skip unreadable url",
        "layout": "sheet unknown",
        "ledger": "bin_fixed bin_number due look not_lent not_there other_item quantity same_bin "
        "scan_id",
        "length": "impossible unknown",
        "mass": "sample unknown",
        "offers": "bad_rows",
        "people": "device_name far log_link name owner owner_exists password settings",
        "photo": "broken died empty missing not_a_picture nothing too_large"
        " too_many_pixels",
        "plan": "bad_rows row",
        "planning": "approval no_choice no_line no_list note seam_in_it too_many tools_out unit"
        " what_if",
        "question": "choice form long missing number",
        "rivet": "diameter grip hole length",
        "scan": "action elsewhere empty instead_of_what long no_quantity"
        " not_at_this_bench nothing_open nothing_to_undo one_bit partial pending"
        " reason_needed unknown",
        "sealant": "class date passed temperature unknown",
        "seam": "comma impossible lengths",
        "sheet": "bomb cell columns empty header quote size torn type",
        "sheets": "comma impossible",
        "size": "unknown",
        "splice": "cell kind table",
        "stock": "bad_rows other_item",
        "substitute": "unknown",
        "supply": "dates empty_order other_item pack plan_empty plan_gone plan_terms"
        " quantity sample solver_died solver_stopped solver_time solver_unsound"
        " supplier terms unpriced",
        "web": "form",
        "weight": "number",
    },
}
STATUS: Mapping[str, int] = {
    f"{room}.{name}": status
    for status, rooms in _MEANS.items()
    for room, names in rooms.items()
    for name in names.split()
}


def status_of(code: str) -> int:
    """The HTTP status of a refusal, the same at every door."""
    return STATUS[code]
