# The window in German. What is to be known of these files stands at the head of `en.ftl`.
#
# Words of the trade: throw Überwurf, loop Schlinge, strand Nadelfaden, tail Fadenende, limb Schenkel, bite Stich, stitch Naht,
# flap Lappen, blanching Blässe, jaws Maul, ratchet Rastung, site Eingriffsort, attempt Versuch. Nobody is addressed: buttons
# and tasks are infinitives.

## What several panels say

button-close = Schließen
button-play = ▶ Abspielen
button-pause = ⏸ Pause
button-marks = Bewertung
button-replay = Wiedergabe
# Keys that do the same.
key-or = { $first } oder { $second }

## The bar below

transport-step = ⏭ Schritt
transport-take-over = Übernehmen
transport-give-back = Zurückgeben
transport-hand-in = Abgeben
transport-begin-yourself = Selbst beginnen
transport-going-on = An, bis erneut gedrückt wird: { $acts }
transport-handed-in = Der Versuch ist abgegeben
transport-waits = Der Versuch wartet, wo er abgebrochen wurde: zum Fortsetzen übernehmen
transport-script-plays = Das Skript führt vor
transport-holder-active = { $whose }: Nadelhalter aktiv, Pinzette ruht
transport-forceps-active = { $whose }: Pinzette aktiv, Nadelhalter ruht
transport-your-hands = Eigene Hände
transport-your-left-hands = Eigene Hände, linkshändig
transport-paused = { $doing } (angehalten)
transport-slow = Ohne Grafikkarte gezeichnet: wenige Bilder je Sekunde; den Versuch selbst berührt das nicht

## Numbers of the moment

readout-case = Der Fall
readout-site-check = Eingriffsort prüfen
readout-edit = Fall bearbeiten
readout-throws = Überwürfe
readout-no-throws = noch keine
readout-loop = Zug der Schlinge
readout-strand = Zug des Nadelfadens
readout-tail = Zug des Fadenendes
readout-pale = Blasses Zahnfleisch
readout-hands = vom Zahnfleisch aufwärts: { $hands }
readout-left = links
readout-right = rechts
readout-band-below = unter den { $low } bis { $high } N einer anliegenden Naht
readout-band-within = innerhalb der { $low } bis { $high } N einer anliegenden Naht
readout-band-above = über den { $low } bis { $high } N einer anliegenden Naht

## What is told by a line and a tone

cue-no-throws = Kein Überwurf mehr zu erkennen
cue-throws = Überwürfe erkannt: { $throws }
cue-tight = Die Schlinge zieht mit mehr als { $newton } N
cue-pale = Das Zahnfleisch wird blass

## The card of the keys: what is pressed, and what that does

help-title = Tasten
help-keys = Tasten
help-hide = Ausblenden
help-language = Sprache
help-left-handed = Linkshändig: das Feld ist gespiegelt
help-take-over = { $take_over }  { $begin_anew }
help-take-over-does = übernehmen (oder zurückgeben), selbst beginnen
help-mouse = Maus
help-mouse-does = aktive Spitze über den Tisch schieben
help-wheel = Mausrad, { $raise } { $lower }
help-wheel-does = Spitze heben oder senken (Rad mit { $stand }: fein)
help-stand = { $stand }
help-stand-does = Ebene aufstellen: vorwärts heißt aufwärts
help-close = { $close }
help-close-does = Maul schließen; zweimal: einrasten
help-ratchet = { $ratchet }
help-ratchet-does = Maul einrasten oder lösen
help-ease = { $ease }
help-ease-does = Faden locker halten: er läuft; nochmals: fest
help-turn = { $turn } + Maus
help-turn-does = Instrument rollen und neigen
help-rest = { $rest } + Maus
help-rest-does = nur den Zeiger bewegen: die Hand bleibt stehen
help-switch = { $switch }
help-switch-does = aktive Hand wechseln
help-ring = { $ring } + Maus
help-ring-does = Ringebene: ruhenden Schaft umkreisen
help-both = { $both } + Maus
help-both-does = beide Hände auseinanderziehen
help-parked = { $parked_away } { $parked_left } { $parked_toward } { $parked_right }
help-parked-does = ruhende Hand bewegen
help-roll = { $roll_left } { $roll_right }
help-roll-does = ruhendes Instrument rollen
help-cut = { $cut }
help-cut-does = an der aktiven Spitze schneiden
help-arm = { $arm }
help-arm-does = Nadel neu in den geschlossenen Halter setzen
help-site-check = { $site_check }
help-site-check-does = Eingriffsort prüfen, mit Tasten, vor dem ersten Stich
help-finish = { $finish }
help-finish-does = beenden und abgeben
help-time = { $pause }  { $step }  { $slower }  { $faster }
help-time-does = Pause, Schritt, langsamer, schneller
help-over = { $marks }  { $replay }  { $begin_anew }
help-over-does = Bewertung, Wiedergabe, neuer Versuch, wenn er vorbei ist
help-views = { $operator_view } { $left_view } { $right_view } { $top_view }
help-views-does = Blick des Behandlers, von links, rechts, oben
help-side = { $side_view }
help-side-does = Bild von der Seite an der aktiven Spitze
help-ghost = { $ghost }
help-ghost-does = die Hände der Vorführung neben den eigenen
help-look = { $look } + Maus
help-look-does = umsehen ({ $zoom } + Rad: näher)
help-card = { $help }  { $end_tutorial }
help-card-does = diese Karte zeigen oder ausblenden; Einführung beenden
pad-sticks = Sticks
pad-sticks-does = beide Spitzen über den Tisch schieben
pad-triggers = untere Schultertasten
pad-triggers-does = ihr Maul schließen
pad-up-does = vorwärts mit diesem Stick heißt aufwärts
pad-turn-does = dieser Stick rollt und neigt
pad-ring-does = Ringebene für die aktive Hand
pad-ratchet-does = aktives Maul einrasten oder lösen
pad-switch-does = aktive Hand wechseln
pad-cut-does = an der aktiven Spitze schneiden
pad-arm-does = Nadel neu in den geschlossenen Halter setzen
pad-take-over-does = vom Skript übernehmen oder zurückgeben
pad-pause-does = anhalten oder fortfahren

## Tracked hands

tracked-line = Handerfassung an { $address }: linke { $left }, rechte { $right }.
tracked-silent = wird erwartet
tracked-not-seen = wird von dort nicht gesehen
tracked-clutched = ist frei (Kupplung)
tracked-followed = führt
tracked-ignored = Bisher nicht beachtet: { $count }.
tracked-not-open = Handerfassung: { $address } ließ sich nicht öffnen, keine Hand folgt: { $why }
tracked-too-long = Nicht beachtet: ein Paket der Handerfassung von mehr als { $allowed } Byte, mehr als erlaubt
tracked-no-osc = Nicht beachtet: ein Paket der Handerfassung, das nicht OSC 1.0 entspricht: { $why }
tracked-address = Nicht beachtet: { $found } ist keine Adresse der Handerfassung; erlaubt sind { $allowed }
tracked-count = Nicht beachtet: { $address } mit { $found } Zahlen; erlaubt sind { $allowed }
tracked-number = Nicht beachtet: { $address } mit { $found }; erlaubt sind endliche Zahlen (f, d, i, h)
tracked-range = Nicht beachtet: { $address } mit { $found }; erlaubt ist { $min } bis { $max }
tracked-quaternion = Nicht beachtet: { $address } mit einer Quaternion der Länge { $found }; erlaubt ist { $min } bis { $max }
tracked-switch = Nicht beachtet: { $address } mit { $found }; erlaubt sind 0 und 1

## Buttons for fingers

touch-jaws = Maul zu
touch-switch = Andere Hand
touch-stand = Aufrecht
touch-turn = Drehen
touch-ring = Ringebene
touch-both = Beide Hände
touch-ease = Lockern
touch-cut = Schneiden
touch-arm = Nadel setzen
touch-height = Höhe

## The picture from the side

aside-told = Das Feld von der Seite, an der aktiven Spitze aufgeschnitten
aside-name = Von rechts, an der aktiven Spitze aufgeschnitten

## The tutorial: what to do, and how

lesson-done = ✔ Mehr müssen die Hände nicht können.
lesson-take-over = Vom Skript übernehmen
lesson-take-over-how = { $take_over } drücken. Der Nadelhalter folgt dann der Maus.
lesson-then = Danach: { $task }
lesson-skip = Einführung überspringen
lesson-number = Aufgabe { $number } von { $count }
lesson-touch = Das Zahnfleisch mit der Spitze des Nadelhalters berühren
lesson-touch-how = Die Maus schiebt die Spitze über den Tisch; das Mausrad senkt sie. Ihr Schatten zeigt, wie hoch sie ist.
lesson-lift = Die Spitze 15 mm anheben
lesson-lift-how = Das Mausrad andersherum drehen oder { $stand } halten und die Maus vorwärts schieben.
lesson-switch = Die Hand wechseln: die Pinzette bewegen, der Nadelhalter bleibt, wo er ist
lesson-switch-how = { $switch } wechselt, welche Hand die Maus bewegt.
lesson-take = Den Faden zwischen das Maul der Pinzette nehmen und es einrasten
lesson-take-how = Die Spitze an den Faden bringen, ein Stück von der Nadel entfernt. { $close } schließt das Maul, { $ratchet } rastet es ein.
lesson-wrap = Den Faden zweimal um den Nadelhalter führen
lesson-wrap-how = { $ring } halten und die Maus kreisen: die Pinzette geht um den ruhenden Schaft.
lesson-draw = Den Faden festziehen, bis zu einem halben Newton
lesson-draw-how = { $both } halten und die Maus bewegen: beide Hände gehen auseinander. Der Zug des Nadelfadens steht links.

## An attempt that was broken off

offer-declined = Bei Ablehnung bleibt er im Ordner der Versuche und kann angesehen oder bewertet werden.
offer-go-on = Fortsetzen
offer-begin-anew = Neu beginnen

## The site check

site-title = Eingriffsort prüfen
site-order = Der Auftrag: Zahn { $tooth }, { $described }.
site-case-order = Der Auftrag gilt Zahn { $tooth } ({ $described }). Vor dem ersten Stich wird der Eingriffsort auf dem Zahnbogen markiert: Zahn und Seite.
site-none-chosen = Kein Zahn ist gewählt.
site-choose = Den Auftrag lesen, dann seinen Zahn auf dem Zahnbogen wählen.
site-mark = Diesen Ort markieren
site-hint = Bis zum ersten Stich kann er geändert werden. Mit Tasten: { $site_check }, dann Tab oder Pfeile, Eingabe; Esc gibt sie zurück.
site-chosen = Gewählt: { $tooth }
site-iso = ISO 3950
site-universal = Universal
site-palmer = Palmer
site-jaw = Kiefer
site-upper = oben
site-lower = unten
site-side = Seite
site-right = Patient rechts
site-left = Patient links
site-in-full = { $tooth } ({ $described })
site-marked = Eingriffsort markiert
site-unmarked = ⚠ Kein Eingriffsort ist markiert
tooth-name = { $place } { $quadrant }
tooth-described = { $name }; Universal { $universal }, Palmer { $palmer }
tooth-quadrant-1 = oben rechts
tooth-quadrant-2 = oben links
tooth-quadrant-3 = unten links
tooth-quadrant-4 = unten rechts
tooth-place-1 = mittlerer Schneidezahn
tooth-place-2 = seitlicher Schneidezahn
tooth-place-3 = Eckzahn
tooth-place-4 = erster Prämolar
tooth-place-5 = zweiter Prämolar
tooth-place-6 = erster Molar
tooth-place-7 = zweiter Molar
tooth-place-8 = dritter Molar

## The debrief

debrief-new-attempt = Neuer Versuch
debrief-marks = Die Bewertung
debrief-pull = Der Knoten, aufgezogen
debrief-measured = Das Gemessene
debrief-progress = Die eigenen Versuche
debrief-band = Maßstab: { $band }
measured-signs = Lange Striche: die Membran; kurze Striche: der Mund der Alveole; Punkte: wo gestochen werden sollte; Ringe: Löcher, nummeriert in der Reihenfolge der Stiche; Quadrat: der Knoten; helle Scheiben: am Ende blasses Zahnfleisch. Die Längen sind die beim Stechen gemessenen.
measured-tension = Zug in der Schlinge [N]
measured-pale = Blasses Zahnfleisch [mm²]
measured-largest = größter Wert { $value } bei { $seconds } s
measured-events = Was wann geschah; die Nummern stehen über den Kurven, und ein Klick in eine Kurve führt zum Augenblick.
progress-span = { $count } Versuche an diesem Fall, der erste am { $first }, der letzte am { $last }. Unter den Strichen ist es nicht bestanden.
progress-total = Gesamt
plan-told = Die Stelle von oben. Stiche vom Rand: { $distances }
plan-knot-outside = Knoten { $mm } mm
plan-knot-inside = Knoten { $mm } mm innen
plan-cheek = Lappen der Wange
plan-tongue = Lappen der Zunge
debrief-critical = ✖ Kritischer Fehler: { $fault }
debrief-one-thing = Als Nächstes ändern: { $advice }
debrief-moment = ▶ { $seconds } s
debrief-moment-does = Den Augenblick in der Wiedergabe ansehen
debrief-passed = ✔ BESTANDEN
debrief-not-passed = ✖ NICHT BESTANDEN
debrief-total = { $total } von 100
debrief-pass-mark = bestanden ab { $mark }
debrief-weight = Gewicht { $weight }
debrief-next-time = Beim nächsten Mal: { $advice }
debrief-caution-1 = Ein Übungsmittel, nicht für Diagnose oder Behandlung; ein Bestehen zertifiziert niemanden.
debrief-caution-2 = Was in einem Mund getan wird, entscheiden örtliche Vorschriften, Aufsicht und approbierte Fachleute.
debrief-caution-3 = Zahnfleisch und Faden sind ein Modell mit veröffentlichten und geschätzten Zahlen; wirkliches Gewebe ist von Mensch zu Mensch verschieden.
criterion-throws = Überwürfe wie verlangt
criterion-laid_square = Gegenläufig und flach gelegt
criterion-blanching = Zahnfleisch ohne Blässe
criterion-tearing = Zahnfleisch nicht eingerissen
criterion-knot_aside = Knoten neben der Wunde
criterion-bite = Stiche gut gesetzt
criterion-spacing = Nähte in gleichem Abstand
criterion-membrane_cover = Membran bedeckt und unversehrt
criterion-edges = Ränder auf gleicher Höhe
criterion-needle_care = Nadel in der Hand
criterion-thread_care = Faden unbeschädigt
criterion-cut_ends = Enden richtig gekürzt
criterion-holds = Knoten hält
criterion-snug = Naht liegt an
criterion-time = In guter Zeit

## What becomes of an attempt

stage-marking = Der Versuch wird bewertet …
stage-resuming = Der Versuch wird noch einmal ausgeführt: { $percent } %
stage-broken-off = Ein eigener Versuch wurde nach { $seconds } s abgebrochen und ist noch auf der Platte.
stage-holds-nothing = Der abgebrochene Versuch enthält nichts
stage-file-stays = Die Datei des abgebrochenen Versuchs bleibt: { $why }
stage-not-set-aside = Der abgebrochene Versuch ließ sich nicht beiseitelegen: { $why }
stage-attempts-not-kept = Versuche werden nicht aufbewahrt: { $why }
stage-attempt-not-kept = Der Versuch wird nicht aufbewahrt: { $why }
stage-this-not-kept = Dieser Versuch wird nicht aufbewahrt: { $why }
stage-tutorial-again = Die Einführung kommt wieder, denn das lässt sich nicht merken: { $why }
stage-language = Die Sprache lässt sich nicht merken: { $why }
stage-name-thread = Zum Aufziehen dieses Knotens angeben, aus welchem Faden er ist: --material NAME --size SIZE
refused-no-needle = Die Nadel wird nicht gesetzt: es gibt keine Nadel
refused-sticks = Die Nadel wird nicht gesetzt: sie steckt im Zahnfleisch: erst herausziehen
refused-thread-in-gum = Die Nadel wird nicht gesetzt: ihr Faden läuft noch durch das Zahnfleisch: erst knoten und schneiden
refused-holds-thread = Die Nadel wird nicht gesetzt: der Nadelhalter hält Faden: erst loslassen
refused-jaws-open = Die Nadel wird nicht gesetzt: das Maul des Nadelhalters ist offen: erst schließen
refused-in-the-way = Die Nadel wird nicht gesetzt: wo ihr Faden liegen würde, liegt etwas: erst Instrumente und lose Enden wegbewegen
refused-cut = Nichts wird geschnitten: kein Faden liegt näher als 3 mm an den Schneiden
refused-mark = Die Markierung zählt nicht mehr: der erste Stich ist begonnen

## The replay

replay-bar = Der Versuch
replay-second = { $seek_back } { $seek_on } eine Sekunde
replay-phase = Wiedergabe: { $phase }
replay-own-hands = die eigenen Hände
replay-times = { $at } von { $end } s
recording-so-far = bisher noch einmal ausgeführt: { $percent } %
recording-being-marked = noch einmal ausgeführt; wird bewertet …
recording-verdict = Aufzeichnung: { $verdict }
recording-failed = ✖ Die Aufzeichnung ließ sich nicht bis zum Ende ausführen: { $why }

## A knot on the bench, and its pull

knot-views = { $look } + Maus: umsehen; { $zoom } + Rad: näher; { $operator_view } { $left_view } { $right_view } { $top_view }: feste Ansichten
knot-being-laid = Der Knoten wird auf die Bank gelegt …
pull-bar = Der Zugversuch
pull-stitch = Naht { $number }
pull-held = gehalten
pull-drawn = gezogen ➡
pull-extension = Verlängerung [mm]
pull-force = Kraft [N]
pull-sign-slip = je { $mm } mm Schlupf
pull-sign-slipped = um { $mm } mm gerutscht
pull-sign-broke = der Faden ist gerissen
pull-from-shape = Nur nach seiner Form gezogen: wie fest er angezogen war, ist nicht bekannt, und ein Knoten, der rutscht, tut es früher.
pull-slack-out = Der Knoten wird aufgezogen: das Lose wird herausgezogen …
pull-so-far = Der Knoten wird aufgezogen: bisher { $newton } N …
pull-no-knot = Es gibt keinen Knoten aufzuziehen: die Schenkel des Fadens drücken nicht aufeinander
pull-unsound = Der Zugversuch ließ sich nicht verlässlich rechnen: { $why }
pull-broken-off = Der Zugversuch ließ sich nicht verlässlich rechnen: er wurde abgebrochen
pull-broke-tying = Der Faden riss, während der Knoten angezogen wurde
pull-broke-at-knot = Der Knoten hielt { $newton } N, dann riss der Faden am Knoten
pull-broke-at-limb = Der Knoten hielt { $newton } N, dann riss der Faden abseits des Knotens
pull-slipped = Der Knoten hielt { $newton } N, dann rutschte er um mehr als { $mm } mm
pull-opened = Der Knoten hielt { $newton } N, dann rutschte er auf
pull-slack = lose
pull-moment = { $newton } N bei { $extension } mm   gerutscht { $slip } mm

## The file of the case

file-not-in-order = ✖ { $name } ist nicht in Ordnung
file-last-one = Auf der Bühne steht der letzte Fall, der in Ordnung war. Sie folgt der Datei, sobald diese wieder in Ordnung ist.
file-taken = { $name } hat sich geändert: der Fall steht so auf der Bühne, wie er jetzt ist
file-waits = { $name } hat sich geändert. Der Versuch behält den Fall, wie er war; zum Übernehmen der Änderung: neu beginnen ({ $begin_anew })
file-waits-for-hands = { $name } hat sich geändert. Der Versuch behält den Fall, wie er war; zum Übernehmen der Änderung: abgeben oder zurückgeben ({ $take_over }), dann neu beginnen ({ $begin_anew })

## The form of the case

form-close = Formular schließen
form-give-up = Änderungen verwerfen
form-by-hand = Diese Datei ist von Hand geschrieben und bleibt, wie sie ist. Zum Ändern eine Kopie anlegen.
form-save = Speichern
form-new-file = Datei
form-save-as = Speichern als
form-copy = Kopieren
form-in-order-unsaved = In Ordnung und noch nicht gespeichert
form-in-order-saved = In Ordnung, so wie in der Datei
form-count-wrong = ✖ { $count } nicht in Ordnung: erst danach wird gespeichert
form-disk-wrong = ✖ Die Datei auf der Platte ist nicht in Ordnung
form-in-order = ✔ In Ordnung
form-wrong = ✖ Nicht in Ordnung
form-warning = Warnung: { $warning }
form-says = Was der Fall besagt
form-said = Was der Fall besagte, als er zuletzt in Ordnung war
form-given = { $name } ist angegeben
form-left-out = { $name }: weggelassen
form-section-wrong = { $name }, { $count } nicht in Ordnung
form-remove-number = { $name } { $number } entfernen
form-remove = { $name } entfernen
form-add = Zu { $name } hinzufügen
form-new-name = Neuer Name in { $name }
form-range = { $name } aus einem Bereich gezogen
form-yes = ja
form-no = nein
form-again = Was beim letzten Mal nicht gespeichert wurde, ist wieder da
form-unreadable = Was nicht gespeichert wurde, ist nicht lesbar, und die nächste Änderung überschreibt es: { $why }
form-not-kept = Was nicht gespeichert ist, wird auch nicht aufbewahrt: { $why }
form-written = { $file } ist geschrieben
form-made-from = { $file } ist geschrieben, nach { $source }

## Acts that go on without a key being held

act-close = aktives Maul schließen; zweimal schnell gedrückt: einrasten
act-stand = Ebene aufstellen: vorwärts heißt aufwärts; das Mausrad ist fein
act-ring = Ringebene: ruhenden Schaft umkreisen
act-both = beide Hände auseinanderziehen
act-turn = Instrument mit der Maus rollen und neigen
act-rest = nur den Zeiger bewegen: die Hand bleibt stehen
act-raise = aktive Spitze heben
act-lower = aktive Spitze senken
act-parked_away = ruhende Hand von sich weg bewegen
act-parked_toward = ruhende Hand zu sich hin bewegen
act-parked_left = ruhende Hand nach links bewegen
act-parked_right = ruhende Hand nach rechts bewegen
act-roll_left = ruhendes Instrument nach links rollen
act-roll_right = ruhendes Instrument nach rechts rollen
act-left_stick_up = linker Stick: vorwärts heißt aufwärts
act-right_stick_up = rechter Stick: vorwärts heißt aufwärts
act-left_stick_turn = der linke Stick rollt und neigt
act-right_stick_turn = der rechte Stick rollt und neigt
act-look = mit der Maus umsehen
act-zoom = das Mausrad bringt das Auge näher
act-seek_finely = vor und zurück geht nur ein Bild

## Keys and buttons whose own name would not tell them

key-Space = Leertaste
key-Enter = Eingabe
key-Backspace = Rücktaste
key-Insert = Einfg
key-Delete = Entf
key-Home = Pos1
key-End = Ende
key-PageUp = Bild⬆
key-PageDown = Bild⬇
key-ArrowLeft = ⬅
key-ArrowRight = ➡
key-ArrowUp = ⬆
key-ArrowDown = ⬇
key-Shift = Umschalt
key-Control = Strg
key-MouseLeft = linke Maustaste
key-MouseRight = rechte Maustaste
key-MouseMiddle = mittlere Maustaste
key-MouseBack = Maustaste zurück
key-MouseForward = Maustaste vor
key-PadSouth = untere Taste
key-PadEast = rechte Taste
key-PadWest = linke Taste
key-PadNorth = obere Taste
key-PadLeftBumper = linke obere Schultertaste
key-PadRightBumper = rechte obere Schultertaste
key-PadLeftStick = linker Stick gedrückt
key-PadRightStick = rechter Stick gedrückt
key-PadSelect = Select
key-PadStart = Start
key-PadUp = Kreuz oben
key-PadDown = Kreuz unten
key-PadLeft = Kreuz links
key-PadRight = Kreuz rechts
