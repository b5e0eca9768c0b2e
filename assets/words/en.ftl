# The window in English. Every text that is added here is added to the other files of this folder as well.
#
# A text is asked for by its key, with `{ $name }` for what is put in. Where a text speaks of keys, `{ $take_over }` stands for
# whatever is pressed for that act; the acts are those of `knotwright keys`.

## What several panels say

button-close = Close
button-play = ▶ Play
button-pause = ⏸ Pause
button-marks = Marks
button-replay = Replay
# Keys that do the same.
key-or = { $first } or { $second }

## The bar below

transport-step = ⏭ Step
transport-take-over = Take over
transport-give-back = Give back
transport-hand-in = Hand in
transport-begin-yourself = Begin yourself
transport-going-on = On until pressed again: { $acts }
transport-handed-in = The attempt has been handed in
transport-waits = Your attempt waits where it was broken off: take over to go on
transport-script-plays = The script plays
transport-holder-active = { $whose }: needle holder active, forceps parked
transport-forceps-active = { $whose }: forceps active, needle holder parked
transport-your-hands = Your hands
transport-your-left-hands = Your hands, left-handed
transport-paused = { $doing } (paused)
transport-slow = Software rendering: expect a few pictures a second; the attempt itself is not affected

## Numbers of the moment

readout-case = The case
readout-site-check = Site check
readout-edit = Edit the case
readout-throws = Throws
readout-no-throws = none yet
readout-loop = Loop tension
readout-strand = Strand tension
readout-tail = Tail tension
readout-pale = Pale gum
readout-hands = from the gum up: { $hands }
readout-left = left
readout-right = right
readout-band-below = below a snug stitch's { $low } to { $high } N
readout-band-within = within a snug stitch's { $low } to { $high } N
readout-band-above = above a snug stitch's { $low } to { $high } N

## What is told by a line and a tone

cue-no-throws = No throw is read any more
cue-throws = Throws read: { $throws }
cue-tight = The loop is above { $newton } N
cue-pale = The gum pales

## The card of the keys: what is pressed, and what that does

help-title = Keys
help-keys = Keys
help-hide = Hide
help-language = Language
help-left-handed = Left-handed: the field is mirrored
help-take-over = { $take_over }  { $begin_anew }
help-take-over-does = take over (or give back), begin yourself
help-mouse = mouse
help-mouse-does = slide the active tip over the table
help-wheel = wheel, { $raise } { $lower }
help-wheel-does = raise or lower it (wheel with { $stand }: finely)
help-stand = { $stand }
help-stand-does = stand the plane up: forward is up
help-close = { $close }
help-close-does = close the jaws; twice: ratchet
help-ratchet = { $ratchet }
help-ratchet-does = lock or release the jaws
help-ease = { $ease }
help-ease-does = hold the thread lightly: it runs; again: firmly
help-turn = { $turn } + mouse
help-turn-does = roll and pitch the instrument
help-rest = { $rest } + mouse
help-rest-does = move the pointer alone: the hand rests
help-switch = { $switch }
help-switch-does = change the active hand
help-ring = { $ring } + mouse
help-ring-does = ring plane: circle the parked shaft
help-both = { $both } + mouse
help-both-does = pull both hands apart
help-parked = { $parked_away } { $parked_left } { $parked_toward } { $parked_right }
help-parked-does = move the parked hand
help-roll = { $roll_left } { $roll_right }
help-roll-does = roll the parked instrument
help-cut = { $cut }
help-cut-does = cut at the active tip
help-arm = { $arm }
help-arm-does = have the needle set in the shut holder again
help-site-check = { $site_check }
help-site-check-does = site check, by keys, before the first bite
help-finish = { $finish }
help-finish-does = finish and hand in
help-time = { $pause }  { $step }  { $slower }  { $faster }
help-time-does = pause, step, slower, faster
help-over = { $marks }  { $replay }  { $begin_anew }
help-over-does = marks, replay, new attempt, once it is over
help-views = { $operator_view } { $left_view } { $right_view } { $top_view }
help-views-does = operator, left, right, top view
help-side = { $side_view }
help-side-does = picture from the side at the active tip
help-ghost = { $ghost }
help-ghost-does = the demonstration’s hands beside yours
help-look = { $look } + mouse
help-look-does = look around ({ $zoom } + wheel: nearer)
help-card = { $help }  { $end_tutorial }
help-card-does = show or hide this card; end the tutorial
pad-sticks = sticks
pad-sticks-does = slide the two tips over the table
pad-triggers = triggers
pad-triggers-does = close their jaws
pad-up-does = forward on that stick is up
pad-turn-does = that stick rolls and pitches
pad-ring-does = ring plane for the active hand
pad-ratchet-does = lock or release the active jaws
pad-switch-does = change the active hand
pad-cut-does = cut at the active tip
pad-arm-does = have the needle set in the shut holder again
pad-take-over-does = take over from the script, or give back
pad-pause-does = pause, or go on

## Tracked hands

tracked-line = Tracked hands at { $address }: left { $left }, right { $right }.
tracked-silent = waited for
tracked-not-seen = not seen by what tracks it
tracked-clutched = free (clutch)
tracked-followed = followed
tracked-ignored = Ignored so far: { $count }.
tracked-not-open = Tracked hands: { $address } could not be opened, no hand follows: { $why }
tracked-too-long = Ignored: a packet for tracked hands of more than { $allowed } bytes, the most that is allowed
tracked-no-osc = Ignored: a packet for tracked hands that is not as OSC 1.0 has it: { $why }
tracked-address = Ignored: { $found } is no address of tracked hands; allowed are { $allowed }
tracked-count = Ignored: { $address } with { $found } numbers; allowed are { $allowed }
tracked-number = Ignored: { $address } with { $found }; allowed are finite numbers (f, d, i, h)
tracked-range = Ignored: { $address } with { $found }; allowed are { $min } to { $max }
tracked-quaternion = Ignored: { $address } with a quaternion of length { $found }; allowed are { $min } to { $max }
tracked-switch = Ignored: { $address } with { $found }; allowed are 0 and 1

## Buttons for fingers

touch-jaws = Jaws shut
touch-switch = Other hand
touch-stand = Upright
touch-turn = Turn
touch-ring = Ring plane
touch-both = Both hands
touch-ease = Ease hold
touch-cut = Cut
touch-arm = Set needle
touch-height = Height

## The picture from the side

aside-told = The field from the side, cut open at the active tip
aside-name = From the right, cut open at the active tip

## The tutorial: what to do, and how

lesson-done = ✔ That is all your hands need to know.
lesson-take-over = Take over from the script
lesson-take-over-how = Press { $take_over }. The needle holder then follows the mouse.
lesson-then = Then: { $task }
lesson-skip = Skip the tutorial
lesson-number = task { $number } of { $count }
lesson-touch = Touch the gum with the tip of the needle holder
lesson-touch-how = The mouse slides the tip over the table; the wheel lowers it. Its shadow shows how high it is.
lesson-lift = Lift the tip 15 mm
lesson-lift-how = Turn the wheel the other way, or hold { $stand } and push the mouse forward.
lesson-switch = Change hands: move the forceps, the needle holder stays where it is
lesson-switch-how = { $switch } changes which hand the mouse moves.
lesson-take = Take the thread between the jaws of the forceps and lock them on it
lesson-take-how = Bring the tip to the thread, some way from the needle. Jaws are closed by { $close } and locked by { $ratchet }.
lesson-wrap = Carry the thread twice round the needle holder
lesson-wrap-how = Hold { $ring } and circle the mouse: the forceps go round the parked shaft.
lesson-draw = Draw the thread tight, to half a newton
lesson-draw-how = Hold { $both } and move the mouse: both hands go apart. The strand's tension stands on the left.

## An attempt that was broken off

offer-declined = Declined, it stays in the folder of attempts, to be looked at or graded.
offer-go-on = Go on with it
offer-begin-anew = Begin anew

## The site check

site-title = Site check
site-order = The order: tooth { $tooth }, { $described }.
site-case-order = The order is for tooth { $tooth } ({ $described }). Before the first bite the site is marked on the arch: tooth and side.
site-none-chosen = No tooth is chosen.
site-choose = Read the order, then choose its tooth on the arch.
site-mark = Mark this site
site-hint = It can be changed until the first bite. By keys: { $site_check }, then Tab or arrows, Enter; Esc gives them back.
site-chosen = Chosen: { $tooth }
site-iso = ISO 3950
site-universal = Universal
site-palmer = Palmer
site-jaw = Jaw
site-upper = upper
site-lower = lower
site-side = Side
site-right = patient's right
site-left = patient's left
site-in-full = { $tooth } ({ $described })
site-marked = Site marked
site-unmarked = ⚠ No site is marked
tooth-name = { $quadrant } { $place }
tooth-described = { $name }; universal { $universal }, Palmer { $palmer }
tooth-quadrant-1 = upper right
tooth-quadrant-2 = upper left
tooth-quadrant-3 = lower left
tooth-quadrant-4 = lower right
tooth-place-1 = central incisor
tooth-place-2 = lateral incisor
tooth-place-3 = canine
tooth-place-4 = first premolar
tooth-place-5 = second premolar
tooth-place-6 = first molar
tooth-place-7 = second molar
tooth-place-8 = third molar

## The debrief

debrief-new-attempt = New attempt
debrief-marks = The marks
debrief-pull = The knot, pulled open
debrief-measured = What was measured
debrief-progress = Your attempts
debrief-band = Marked: { $band }
measured-signs = Long dashes: the membrane; short dashes: the mouth of the socket; dots: where bites were to be taken; rings: holes, numbered in the order of the bites; square: the knot; light discs: pale gum at the end. Lengths are those measured when the bites were taken.
measured-tension = Tension of the loop [N]
measured-pale = Pale gum [mm²]
measured-largest = largest { $value } at { $seconds } s
measured-events = What happened when; the numbers are those above the charts, and a click into a chart goes to the moment.
progress-span = { $count } attempts at this case, the first on { $first }, the last on { $last }. Below the dashes it is failed.
progress-total = Total
plan-told = The site from above. Bites from the edge: { $distances }
plan-knot-outside = knot { $mm } mm
plan-knot-inside = knot { $mm } mm inside
plan-cheek = cheek’s flap
plan-tongue = tongue’s flap
debrief-critical = ✖ Critical fault: { $fault }
debrief-one-thing = One thing to change: { $advice }
debrief-moment = ▶ { $seconds } s
debrief-moment-does = See the moment in the replay
debrief-passed = ✔ PASSED
debrief-not-passed = ✖ NOT PASSED
debrief-total = { $total } of 100
debrief-pass-mark = pass mark { $mark }
debrief-weight = weight { $weight }
debrief-next-time = Next time: { $advice }
debrief-caution-1 = This is a training aid. It is not for diagnosis or treatment, and a pass certifies nobody.
debrief-caution-2 = Local protocol, supervision and licensed practice decide what is done in a mouth.
debrief-caution-3 = Gum and thread are a model with published and estimated numbers; real tissue differs between patients.
criterion-throws = Throws as ordered
criterion-laid_square = Laid square and flat
criterion-blanching = Gum not blanched
criterion-tearing = Gum not torn
criterion-knot_aside = Knot beside the wound
criterion-bite = Bites placed well
criterion-spacing = Stitches evenly spaced
criterion-membrane_cover = Membrane covered and whole
criterion-edges = Edges lie level
criterion-needle_care = Needle in hand
criterion-thread_care = Thread not harmed
criterion-cut_ends = Ends cut to length
criterion-holds = Knot holds
criterion-snug = Stitch snug
criterion-time = In good time

## What becomes of an attempt

stage-marking = The attempt is being marked …
stage-resuming = Your attempt is carried out again: { $percent } %
stage-broken-off = An attempt of yours was broken off after { $seconds } s and is still on the disk.
stage-holds-nothing = The attempt that was broken off holds nothing
stage-file-stays = The file of the attempt that was broken off stays: { $why }
stage-not-set-aside = The attempt that was broken off could not be set aside: { $why }
stage-attempts-not-kept = Attempts are not kept: { $why }
stage-attempt-not-kept = The attempt is not kept: { $why }
stage-this-not-kept = This attempt is not kept: { $why }
stage-tutorial-again = The tutorial will come again, for that cannot be remembered: { $why }
stage-language = The language cannot be remembered: { $why }
stage-name-thread = To pull this knot open, say what thread it is in: --material NAME --size SIZE
refused-no-needle = The needle is not set: there is no needle
refused-sticks = The needle is not set: the needle sticks in the gum: draw it out first
refused-thread-in-gum = The needle is not set: its thread still runs through the gum: tie and cut it first
refused-holds-thread = The needle is not set: the needle holder holds thread: let that go first
refused-jaws-open = The needle is not set: the needle holder's jaws are open: shut them first
refused-in-the-way = The needle is not set: something lies where its thread would be laid out: move the instruments and loose ends away first
refused-cut = Nothing is cut: no thread is within 3 mm of the blades
refused-mark = The mark counts no more: the first bite has been begun

## The replay

replay-bar = The attempt
replay-second = { $seek_back } { $seek_on } a second
replay-phase = Replay: { $phase }
replay-own-hands = your own hands
replay-times = { $at } of { $end } s
recording-so-far = carried out again so far: { $percent } %
recording-being-marked = carried out again; it is being marked …
recording-verdict = Recording: { $verdict }
recording-failed = ✖ The recording could not be carried out to its end: { $why }

## A knot on the bench, and its pull

knot-views = { $look } + mouse: look around; { $zoom } + wheel: nearer; { $operator_view } { $left_view } { $right_view } { $top_view }: set views
knot-being-laid = The knot is being laid on the bench …
pull-bar = The pull
pull-stitch = Stitch { $number }
pull-held = limb held
pull-drawn = limb drawn ➡
pull-extension = extension [mm]
pull-force = force [N]
pull-sign-slip = each { $mm } mm of slip
pull-sign-slipped = slipped by { $mm } mm
pull-sign-broke = the thread broke
pull-from-shape = Pulled from its shape alone: how hard it was drawn tight is not known, and a knot that slips does so earlier.
pull-slack-out = The knot is pulled: the slack is drawn out …
pull-so-far = The knot is pulled: { $newton } N so far …
pull-no-knot = There is no knot to pull: the thread's limbs do not press on each other
pull-unsound = The pull could not be carried out soundly: { $why }
pull-broken-off = The pull could not be carried out soundly: it was broken off
pull-broke-tying = The thread broke while the knot was drawn tight
pull-broke-at-knot = The knot held { $newton } N, then the thread broke at the knot
pull-broke-at-limb = The knot held { $newton } N, then the thread broke away from the knot
pull-slipped = The knot held { $newton } N, then slipped by more than { $mm } mm
pull-opened = The knot held { $newton } N, then slipped open
pull-slack = slack
pull-moment = { $newton } N at { $extension } mm   slipped { $slip } mm

## The file of the case

file-not-in-order = ✖ { $name } is not in order
file-last-one = The case on stage is the last one that was. It follows as soon as the file is in order again.
file-taken = { $name } has changed: its case is on stage as it is now
file-waits = { $name } has changed. The attempt keeps the case as it was; to take the change: begin anew ({ $begin_anew })
file-waits-for-hands = { $name } has changed. The attempt keeps the case as it was; to take the change: hand in or give back ({ $take_over }), then begin anew ({ $begin_anew })

## The form of the case

form-close = Close the form
form-give-up = Give up changes
form-by-hand = This file was written by hand and stays as it is. Make a copy of it to change.
form-save = Save
form-new-file = New file
form-save-as = Save as
form-copy = Copy
form-in-order-unsaved = In order, and not saved yet
form-in-order-saved = In order, as it is in the file
form-count-wrong = ✖ { $count } not in order: it is saved once they are
form-disk-wrong = ✖ The file on the disk is not in order
form-in-order = ✔ In order
form-wrong = ✖ Not in order
form-warning = warning: { $warning }
form-says = What it says
form-said = What it said when it was in order last
form-given = { $name } is given
form-left-out = { $name }: left out
form-section-wrong = { $name }, { $count } not in order
form-remove-number = Remove { $name } { $number }
form-remove = Remove { $name }
form-add = Add to { $name }
form-new-name = New name in { $name }
form-range = { $name } drawn from a range
form-yes = yes
form-no = no
form-again = What was not saved when the form was last here is in it again
form-unreadable = What was not saved cannot be read, and the next change writes over it: { $why }
form-not-kept = What is not saved is not kept either: { $why }
form-written = { $file } is written
form-made-from = { $file } is written, made from { $source }

## Acts that go on without a key being held

act-close = close the active jaws; pressed twice quickly: the ratchet
act-stand = stand the plane up: forward is up; the wheel is fine
act-ring = ring plane: circle the parked shaft
act-both = pull both hands apart
act-turn = roll and pitch the instrument by moving the mouse
act-rest = move the pointer alone: the hand rests
act-raise = raise the active tip
act-lower = lower the active tip
act-parked_away = move the parked hand away
act-parked_toward = move the parked hand toward you
act-parked_left = move the parked hand to the left
act-parked_right = move the parked hand to the right
act-roll_left = roll the parked instrument to the left
act-roll_right = roll the parked instrument to the right
act-left_stick_up = the left stick's forward is up
act-right_stick_up = the right stick's forward is up
act-left_stick_turn = the left stick rolls and pitches
act-right_stick_turn = the right stick rolls and pitches
act-look = look around by moving the mouse
act-zoom = the wheel brings the eye nearer
act-seek_finely = back and on go a frame only

## Keys and buttons whose own name would not tell them

key-Space = Space
key-Enter = Enter
key-Backspace = Backspace
key-Insert = Insert
key-Delete = Delete
key-Home = Home
key-End = End
key-PageUp = PageUp
key-PageDown = PageDown
key-ArrowLeft = ⬅
key-ArrowRight = ➡
key-ArrowUp = ⬆
key-ArrowDown = ⬇
key-Shift = Shift
key-Control = Ctrl
key-MouseLeft = left button
key-MouseRight = right button
key-MouseMiddle = middle button
key-MouseBack = back button
key-MouseForward = forward button
key-PadSouth = lower button
key-PadEast = right-hand button
key-PadWest = left-hand button
key-PadNorth = upper button
key-PadLeftBumper = left bumper
key-PadRightBumper = right bumper
key-PadLeftStick = left stick pressed
key-PadRightStick = right stick pressed
key-PadSelect = select
key-PadStart = start
key-PadUp = pad up
key-PadDown = pad down
key-PadLeft = pad left
key-PadRight = pad right
