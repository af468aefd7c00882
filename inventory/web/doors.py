"""Which role each page asks for, to look at it and to change something on it.

One table: a page that is not named opens to the owner alone.
"""

from inventory.people.rules import Role

READER, HELPER, BUILDER, OWNER = Role

# Pages that change nothing, and those of one's own sign-in.
_SEEN = """home find bench-offline label label-small plan-example plan-csv plan-xlsx plan-history
stage assembly-record photograph acts bins lent stock-example items item-run-out
pool spoilage grid item-why bits offers-example orders shopping-list
shopping-csv supplier-list supplier-csv receive alerts lookup-index lookup help tray tray-sheet assembly-sheet cards
sign-out me own-password own-sign-in-end log log-print lot-print list-csv
list-xlsx"""
# What hands do with what lies there, each under its person's name.
_HANDS = """bench bench-pair act-undo bin-book bin-look bin-weigh bin-lend bin-move lent-until
bit-event bit-event-back photograph-in item-weigh"""
_BUILT = """plan plan-import plan-apply change-back list-drop list-name stage-new stage-name stage-copy
stage-split stage-drop assembly-new assembly-plan assembly-change assembly-lines assembly-ask
assembly-drill assembly-seam assembly-copy assembly-split assembly-drop assembly-move
stage-date stage-skip stage-move assembly close-up lot assembly-instead assembly-reopen
bin-new bin bin-retire bin-use bin-change stock-import stock-apply item item-name item-really
item-names item-unname item-change-back unread teach order-new order-plan order-plan-cancel
order-plan-orders suppliers supplier offer-new offer offer-drop offers-import offers-apply
order order-expect order-back line-new line-drop line-wait line-change receive-line
receive-bag receive-bin alert-seen alert-snooze labels steps steps-letter steps-over"""
_OWNED = """settings running archive wording-set backup-now letter-test record-mend device-new device-revoke people
person-new person-role person-password person-leave sign-in-end log-link-new log-link-end"""

CHANGES = {
    **dict.fromkeys(_SEEN.split(), READER),
    **dict.fromkeys(_HANDS.split(), HELPER),
    **dict.fromkeys(_BUILT.split(), BUILDER),
    **dict.fromkeys(_OWNED.split(), OWNER),
}
# Pages that only whoever may change them may look at.
HIDDEN = frozenset(_OWNED.split())
# Without a session these have rules of their own.
_OPEN = (
    """sign-in first health health-worker log-read log-read-print log-read-photograph"""
)
OPEN = frozenset(_OPEN.split())


def least_role(name: str, method: str) -> Role:
    """The least role that an address asks for."""
    least = CHANGES.get(name, OWNER)
    looks = method in ("GET", "HEAD", "OPTIONS") and name in CHANGES
    return READER if looks and name not in HIDDEN else least
