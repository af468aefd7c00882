"""What each page is for and how it is worked, on one screen of a phone."""

from dataclasses import dataclass

MOST_WORDS = 110


@dataclass(frozen=True)
class Help:
    """A page in words: what it is for, then what hands do there, one thing a line."""

    title: str
    purpose: str
    steps: tuple[str, ...]


def _help(text: str) -> dict[str, Help]:
    """'name | title', what it is for, then a line for each step; empty lines between."""
    found = {}
    for block in text.strip().split("\n\n"):
        head, purpose, *steps = block.strip().split("\n")
        name, title = head.split(" | ")
        found[name] = Help(title, purpose, tuple(steps))
    return found


HELP = _help("""
home | Ready?
It says what to order and by when, what to do tonight, and which bins to look into.
The road ahead shows every stage on one line of time: 'ready' means that nothing in it is likely to run short.
Key about how many you see in a bin and press 'About'. Press a stage to see all that it asks.
Figures marked 'guess' rest on what is usual elsewhere, until your own record speaks.

steps | First steps
Five things that set a new shop up; each ticks itself off once it is done.
Do them in any order; every one can be done by hand, without a file.
The first page shows them until they are done, or until you say otherwise here.

bench | Bench
Here you pull rivets with a scanner, a camera or a keyboard.
Scan the assembly's sheet, then a bin. The number asked for stands there already.
Key another number if you took more or fewer, then confirm. Press 'look' instead to say that about so many are left. On a phone the keys come when a number is wanted.
A wrong tin stops you in red: put it back, or say why it is right.
'Undo last' takes your last entry back. Without a network it goes on and sends later.

plan | Plan
All stages and their assemblies, in the order you build them.
Make a stage, then an assembly in it, then say what it asks.
Import a list instead where you have one; you see every change before it is made.
'What was changed' takes any change back.

plan-import | Import a plan
It reads a spreadsheet of what your assemblies ask for.
Choose the file, or paste what you copied. You see what it would change first.
If a column has a strange name you are asked once what it means.
A bad row is named with its line; mend it and send the file again.

plan-history | What was changed
Every change of the plan, by whom and when.
Press 'Take it back' on one that was wrong. That is a change too, and can be taken back.

assembly-plan | What an assembly asks
Its rivets, holes and seams, to change by hand.
Change a number and keep it, or add a line by its callout.
A seam counts its own rivets: give its length, pitch and sheets.

stage | Stage
What this stage still asks of each thing, and what is here of it.
The worst comes first. 'To order' says how many, and by which day.
Set its start day here; what follows moves along.

assembly | Assembly
What it asks, what was pulled for it, and from which bins.
Pull at the bench; print its sheet to scan it there.
'Close it' when it is done: then look inside first.

log | Builder's log
What went into each assembly, by whom and when, with its lots, pictures and what was taken back.
It fills itself as you pull, close and photograph. Press a stage, then an assembly.
'Save as PDF' gives it to print, a stage or all of it.
The owner can make a link for the inspector. It opens this log alone, without an account, until its day.

close-up | Close an assembly
The last look before it is closed for good.
Count what comes out: temporary fasteners and tools must be back.
Say what becomes of what is over. A note stays in the record.

assembly-record | What went in
The record for the builder's file: what, how many, which lots, who and when.
Add photographs. Print the page.

lot | Lot
Where a delivered lot lies and went, and its certificate.
Photograph the paper here, so that it is found with the lot.

acts | What was done
Everything that moved pieces, the newest first.
Find by person, bin or day. Take back what was wrong: the record keeps both.

find | Find
One search for bins, items, assemblies, orders, lots, suppliers and people.
Type a callout, plain words, 'bin 12', 'order 3' or 'late'. The key / opens it on any page.

bins | Bins
Every bin, what it holds by the record, and where it stands.
Search by number, words, spot or callout.

bin-new | New bin
A bin for one thing of one size.
Say what it is by callout, or choose from the list while you type.
Say how many are in it now, then print its label.

bin | Bin
One bin: what it holds, how sure that is, and what was done with it.
A look is quicker than a count: say about how many you see. Where the record says otherwise it gives way.
Pull, return, count or scrap here when you are not at the bench.
Set the level that it should never go under, and where it stands.

bin-lend | Lend, borrow, move
For pieces that leave the shop, or go to another bin.
Say whom and how many, and by which day they are due back.
To split a bin, leave 'Into bin' empty.

lent | Lent and borrowed
What is with others and what is theirs, since when and until when.
Press 'They came back' to put pieces into their bin. Past its day, you get a letter.

bin-weigh | Count by weight
It counts a bin on a scale.
Count a sample and weigh it, then weigh the full tin and the empty one.
It says how sure the count is before anything is booked.

stock-import | Import a stock list
It reads what your bins hold from a spreadsheet.
You see each bin that would be made before it is. A corrected list changes the difference.

items | Items
Everything the shop knows, whether there is a bin of it or not.
Search by words or callout. Press one for its bins, needs, orders and names.

item | Item
All about one thing: where it lies, what waits for it, who sells it.
Give it another name, or say that it is really something else. Both can be taken back.

item-run-out | When it runs out
How many are left from day to day, with what is due; half of all builders are in the dark band.
Below nothing, pieces are lacking. Point at a mark or press it. 'Why these numbers?' opens them.

item-why | Why this number
It opens a figure into what it was reckoned from.
Needs, spoilage, what is here, what is due. Each part names its source.

pool | Temporary fasteners
How many of each size are held at once, day by day, against those you own, and by what.
'Rivet first' names the assembly that frees most of a size that is short.

spoilage | Spoilage
What was spoilt of each class of item, by the day its assembly was closed.
The dashed line is what the forecast expects of ordinary work from now on.

grid | Stages by items
The chance that each thing runs short, stage by stage.
The worst come first, what is all right last. An empty field asks for nothing.

unread | Callouts nobody could read
Part numbers of your plan that no standard here explains.
Say once what each one means; what asked for it asks for that from then on.

bits | Drill bits
Every bit with a tag, and the holes it has drilled.
Say when one is dull, broken or sharpened: how long bits last is learned from it.
What was noted last can be taken back.

orders | Orders
What is still to come, what waits for it, and all orders.
Press 'Receive' when a parcel is here.

order-new | New order
Note what you ordered elsewhere; nothing is sent to anybody.
Name the supplier, then each thing with its packs.

order-plan | Order plan
It works out one combined order that costs least, for the stages ahead.
Suppliers need prices for it. 'Make orders from it' notes them; you place them with the suppliers yourself.

order | Order
One order: what came, what is owed, and what is short.
Change or add a line here. 'Shopping list' has the supplier's numbers, to print or copy.

shopping-list | Shopping list
What to ask the supplier for, in their numbers, with the price.
Print it, copy the lines, or save the file. Place the order yourself.

supplier-list | Shopping list of a supplier
All that your open orders ask of one supplier, in one list.
Print it, copy the lines, or save the file. What has come in full is left out.

suppliers | Suppliers
Who delivers to you.
Press one for its terms, what it sells and at what price.

supplier | Supplier
One supplier: shipping, smallest order, days, and every pack it sells.
Note their part number with a pack: its bag scans then.

offer | Offer
One pack that a supplier sells, and its price.
Mend the price here, or say that it is no longer sold.

offers-import | Import a price list
It reads a supplier's prices from a spreadsheet.
You see what would change first. The same list again changes nothing.

receive-line | Receive an order
What came of one line of an order.
Key how many, or weigh them. Note the lot, and photograph its certificate.

receive-bag | Receive a bag
Scan every code of a bag, or photograph them.
It says what is in it, which order waits for it and into which bin it goes.

receive | Receive without order
Choose the bin that it went into.

receive-bin | Receive into a bin
What came, into this bin.
Choose the order it is of, or name who brought it.

alerts | Alerts
What you should know: short stages, late parcels, old sealant, bins to count.
'Seen' keeps one off your mind; it ends by itself when its cause does.

lookup-index | Look up
Questions for the handbook: rivet lengths, drills, countersinks, seams, weights.
Every answer names its source and how certain that is. The drawing decides.

lookup | A question
Fill in what you know and ask. Only what is marked must be filled in.
Red is what speaks against it. Every figure names its source.

labels | Labels
Bin labels, bit tags, action cards and badges, as a PDF to print.
Measure your sheet once and keep it. Print on plain paper first, and hold it up to the light.

tray | Tonight's tray
All that tonight's assemblies ask for, in walking order.
Print it, and tick off as you go from bin to bin.

settings | Settings
How the shop is set: name, letters, guesses, devices and backups.
Name a second folder for backups, on a stick.

running | How the shop runs
Whether all works that works by itself: database, worker, letters, backups, disk, clock.
What is to be mended stands first, with what to do.
When the worker is silent, nothing warns of what runs short: then every page says so.

me | Your sign-in
Where you are signed in, and your password.
A lost phone is signed out here. Another password signs you out everywhere else.
Lay a bank card on the screen once, and drawings are shown at true size on it.

people | People
Who may sign in, and what each may do.
Let somebody in with a role. When they leave, what they did stays theirs.
A lost phone is signed out under 'Signed in now'; who tried to come in stands below it.
""")
