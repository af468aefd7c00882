"""The shapes that come in and go out. They check form; the rooms check meaning."""

from typing import Any

from rest_framework import serializers

from api.parts import MAX_ID, ActId, Sure
from inventory.alerts.queries.running import RunningState
from inventory.ledger.rules import MAX_QUANTITY, Verb
from inventory.ledger.rules.looking import Sight
from inventory.planning.rules.closing import FATES
from inventory.trade import codes

Data = dict[str, Any]
# So many scans are taken at once: an evening's, and an answer within seconds.
MOST_SCANS = 200
MOVES = (Verb.PULL, Verb.RETURN, Verb.COUNT, Verb.LOOK, Verb.SCRAP)


class ItemOut(serializers.Serializer[Any]):
    """An item."""

    id = serializers.IntegerField()
    kind = serializers.CharField()
    words = serializers.CharField()
    callout = serializers.CharField()
    size = serializers.CharField()
    form = serializers.CharField()
    unit = serializers.CharField()
    recognised = serializers.BooleanField()
    on_hand = serializers.IntegerField()


class BinOut(serializers.Serializer[Any]):
    """A bin with what the record says it holds."""

    number = serializers.IntegerField()
    code = serializers.CharField()
    item = serializers.IntegerField()
    words = serializers.CharField()
    callout = serializers.CharField()
    spot = serializers.CharField()
    keep_level = serializers.IntegerField(allow_null=True)
    on_hand = serializers.IntegerField()
    count_it = serializers.BooleanField()


class BinIn(serializers.Serializer[Data]):
    """A bin to open: its item by callout, or by kind with size, form or name."""

    sure = Sure()
    callout = serializers.CharField(required=False, max_length=120)
    kind = serializers.CharField(required=False, max_length=40)
    size = serializers.CharField(required=False, max_length=40)
    form = serializers.CharField(required=False, max_length=40)
    name = serializers.CharField(required=False, max_length=120)
    number = serializers.IntegerField(
        required=False, min_value=1, max_value=codes.LARGEST
    )
    spot = serializers.CharField(required=False, max_length=80)
    keep_level = serializers.IntegerField(
        required=False, min_value=0, max_value=MAX_QUANTITY
    )


class BinChange(serializers.Serializer[Data]):
    """What of a bin can change."""

    spot = serializers.CharField(required=False, max_length=80)
    keep_level = serializers.IntegerField(
        required=False, allow_null=True, min_value=0, max_value=MAX_QUANTITY
    )


class ScanIn(serializers.Serializer[Data]):
    """A raw code; its id, made by the client, makes it safe to send again.

    `ms` is the client's clock in milliseconds when it was scanned, `sent_ms` when it is
    sent: so late it comes. `device` and `seq` number the client's scans without a gap.
    `shown` is the quantity on its screen then: what comes late stands as it was seen.
    """

    id = ActId()
    code = serializers.CharField(trim_whitespace=False, max_length=512)
    ms = serializers.IntegerField(required=False, min_value=0, max_value=2**53)
    sent_ms = serializers.IntegerField(required=False, min_value=0, max_value=2**53)
    device = serializers.CharField(required=False, allow_blank=True, max_length=36)
    seq = serializers.IntegerField(required=False, min_value=1, max_value=2**31 - 1)
    shown = serializers.IntegerField(
        required=False, allow_null=True, min_value=0, max_value=MAX_QUANTITY
    )


class ManyScansIn(serializers.Serializer[Any]):
    """Scans in the order in which they were made."""

    device = serializers.CharField(required=False, allow_blank=True, max_length=36)
    scans = serializers.ListField(child=ScanIn(), min_length=1, max_length=MOST_SCANS)


class LeftIn(serializers.Serializer[Data]):
    """What becomes of an item still noted at an assembly when it is closed."""

    item = serializers.IntegerField(min_value=1, max_value=MAX_ID)
    back = serializers.IntegerField(min_value=0, max_value=MAX_QUANTITY)
    fate = serializers.ChoiceField(choices=list(FATES), required=False)


class CloseIn(serializers.Serializer[Data]):
    """A closing: tools out and pieces over, and a note for the record."""

    left = LeftIn(many=True, required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=2000)


class ScanOut(serializers.Serializer[Any]):
    """What the bench says, what that changed, and how it stands now.

    `changed`: the new entry's line, what its bins hold, what its assembly asks. Where
    `newest` is another entry of the record, `GET bench` tells what others did.
    """

    kind = serializers.CharField()
    tone = serializers.CharField()
    sentence = serializers.CharField()
    loud = serializers.BooleanField()
    act = serializers.IntegerField(allow_null=True)
    data = serializers.DictField()  # type: ignore[assignment]
    changed = serializers.DictField(allow_null=True)
    newest = serializers.IntegerField()
    renumber = serializers.BooleanField()
    bench = serializers.DictField()


class StoppedOut(serializers.Serializer[Any]):
    """Why a scan could not be taken: the code of the problem, and its sentence."""

    code = serializers.CharField()
    detail = serializers.CharField()


class ManyScansOut(serializers.Serializer[Any]):
    """An answer to each scan that was taken; `stopped` is of the one after them."""

    answers = ScanOut(many=True)
    stopped = StoppedOut(allow_null=True)


class MovementOut(serializers.Serializer[Any]):
    """One movement of the ledger, in its order."""

    id = serializers.IntegerField()
    act = serializers.IntegerField()
    verb = serializers.CharField()
    item = serializers.IntegerField()
    words = serializers.CharField()
    quantity = serializers.IntegerField()
    source = serializers.CharField()  # type: ignore[assignment]
    target = serializers.CharField()
    source_after = serializers.IntegerField()
    target_after = serializers.IntegerField()
    lot = serializers.CharField(allow_null=True)
    corrects = serializers.IntegerField(allow_null=True)
    by = serializers.CharField()
    at = serializers.DateTimeField()
    reason = serializers.CharField(allow_blank=True)


class MoveIn(serializers.Serializer[Data]):
    """A pull, return, count, look or scrap by hand; its id makes it safe to send again.

    Of a look `seen` says what was seen: 'about' the quantity, 'empty', 'few' or 'plenty'.
    """

    id = ActId()
    sure = Sure()
    verb = serializers.ChoiceField([each.value for each in MOVES])
    seen = serializers.ChoiceField([each.value for each in Sight], required=False)
    bin = serializers.IntegerField(min_value=1, max_value=codes.LARGEST)
    quantity = serializers.IntegerField(min_value=0, max_value=MAX_QUANTITY)
    assembly = serializers.IntegerField(required=False, min_value=1, max_value=MAX_ID)
    reason = serializers.CharField(required=False, max_length=160)


class MoveOut(serializers.Serializer[Any]):
    """What an act moved. `beyond` is what the record could not explain."""

    act = serializers.IntegerField()
    repeated = serializers.BooleanField()
    beyond = serializers.IntegerField()
    movements = MovementOut(many=True)


class UndoIn(serializers.Serializer[Data]):
    """The id of an undo."""

    id = ActId()


class AssemblyOut(serializers.Serializer[Any]):
    """An assembly in the plan's order."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    stage = serializers.CharField()
    how_many = serializers.IntegerField()
    state = serializers.CharField()
    code = serializers.CharField()


class StageOut(serializers.Serializer[Any]):
    """A stage with its assemblies."""

    id = serializers.IntegerField()
    position = serializers.IntegerField()
    name = serializers.CharField()
    planned_start = serializers.DateField(allow_null=True)
    skipped = serializers.BooleanField()
    assemblies = AssemblyOut(many=True)


class StageChange(serializers.Serializer[Data]):
    """A new date, whether what follows shifts, whether it is skipped, where it goes."""

    planned_start = serializers.DateField(required=False, allow_null=True)
    shift_later = serializers.BooleanField(required=False)
    skipped = serializers.BooleanField(required=False)
    move = serializers.IntegerField(required=False, min_value=-500, max_value=500)


class LotOut(serializers.Serializer[Any]):
    """One delivered batch of an item."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    paper = serializers.CharField()
    expires_on = serializers.DateField(allow_null=True)
    item = serializers.IntegerField()
    callout = serializers.CharField()


class LotBinOut(serializers.Serializer[Any]):
    """A bin that a lot came into, and whether it has been empty since."""

    number = serializers.IntegerField()
    spot = serializers.CharField()
    emptied = serializers.BooleanField()


class LotPlaceOut(serializers.Serializer[Any]):
    """A place that pulled while a lot may have been in the bin, and how many of it."""

    name = serializers.CharField()
    kind = serializers.CharField()
    pieces = serializers.IntegerField()
    least = serializers.IntegerField()
    most = serializers.IntegerField()
    likely = serializers.FloatField()
    chance = serializers.FloatField(min_value=0, max_value=1)


class RecallOut(LotOut):
    """Where a lot may be: none of the places is left out."""

    bins = LotBinOut(many=True)
    places = LotPlaceOut(many=True)


class RunningOut(serializers.Serializer[Any]):
    """One part of what the shop runs on."""

    name = serializers.CharField()
    state = serializers.ChoiceField(choices=[each.value for each in RunningState])
    words = serializers.CharField()


class AlertOut(serializers.Serializer[Any]):
    """An alert that stands."""

    id = serializers.IntegerField()
    subject = serializers.CharField()
    cause = serializers.CharField()
    episode = serializers.IntegerField()
    title = serializers.CharField()
    sentence = serializers.CharField()
    act_by = serializers.DateField(allow_null=True)
    data = serializers.DictField()  # type: ignore[assignment]
    seen_at = serializers.DateTimeField(allow_null=True)
    snoozed_until = serializers.DateTimeField(allow_null=True)
    sent_at = serializers.DateTimeField(allow_null=True)


class AlertChange(serializers.Serializer[Data]):
    """Seen, or snoozed for so many days."""

    seen = serializers.BooleanField(required=False)
    snooze_days = serializers.IntegerField(required=False, min_value=1, max_value=365)


class LabelsIn(serializers.Serializer[Data]):
    """Which bins' labels and bits' tags, on which sheet; the shift is in millimetres."""

    bins = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=codes.LARGEST),
        required=False,
        max_length=300,
    )
    bits = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=codes.LARGEST),
        required=False,
        max_length=300,
    )
    sheet = serializers.CharField(max_length=20)
    skip = serializers.IntegerField(required=False, min_value=0, max_value=1200)
    right = serializers.FloatField(required=False, min_value=-20, max_value=20)
    down = serializers.FloatField(required=False, min_value=-20, max_value=20)
    dpi = serializers.IntegerField(required=False)


class PhotoIn(serializers.Serializer[Data]):
    """A photo of a label."""

    photo = serializers.FileField(max_length=200)


class PhotoOut(serializers.Serializer[Any]):
    """The codes that were read."""

    codes = serializers.ListField(child=serializers.DictField())
    sentence = serializers.CharField()
