# The sentences of marks in German. Their English stands in `src/score`, each beside its rule; it is found there by its key.
#
# Words of the trade, beside those at the head of `de.ftl`: wrap Umschlingung, square gegenläufig, crossed gleichläufig, socket
# Alveole, edge Rand, slit Riss, slip Schlupf, snug anliegend. Names of sides, directions and hands are put in as they stand
# under `What is put in`; a sentence is built so that they fit.

## What is put in

mark-side-cheek = Wangenseite
mark-side-tongue = Zungenseite
mark-direction-away = vom Behandler weg
mark-direction-toward = zum Behandler hin
mark-hand-left = links
mark-hand-right = rechts
mark-form-flat = flach
mark-form-sliding = gleitend

## What several criteria say

mark-band-none = nichts ohne Messung
mark-curve-up = voll ab { $full } { $unit }, nichts bis { $none } { $unit }
mark-curve-down = voll bis { $full } { $unit }, nichts ab { $none } { $unit }
mark-curve-plateau = voll von { $full_from } bis { $full_to } { $unit }, nichts bei { $none_below } oder { $none_above } { $unit }
mark-stitch-of = Naht { $number } von { $placed }: { $evidence }
mark-stitches-placed = { $placed } von { $judged } Nähten gesetzt. { $evidence }
mark-no-stitch = Es wurde keine Naht gesetzt.
mark-place-stitch = Die von der Aufgabe verlangte Naht setzen.
mark-place-every-stitch = Alle von der Aufgabe verlangten Nähte setzen.
mark-no-knot = Es wurde kein Knoten geknüpft.
mark-tie-the-knot = Den von der Aufgabe verlangten Knoten knüpfen.
mark-tie-snug = Die Naht so knüpfen, dass sie anliegt.
mark-draw-every-throw = Jeden Überwurf anliegend und flach zuziehen, bevor der nächste gelegt wird.
mark-no-bite = Es wurde kein Stich gesetzt.
mark-bites-unmeasured = Die Stiche wurden nicht gemessen.
mark-repeat = Den Versuch wiederholen.

## The sum

mark-reason-critical = kritischer Fehler `{ $id }`: { $evidence }
mark-reason-required = das verlangte Kriterium `{ $id }` ist mit { $mark } bewertet, unter { $fails_below }
mark-reason-total = die Gesamtbewertung { $total } liegt unter der Bestehensgrenze { $pass_mark }
mark-nothing-to-change = Nichts: genau so noch einmal.

## Throws as ordered

mark-throws-tie = { $notation } knüpfen.
mark-throws-unclear = Die Überwürfe sind nicht lesbar: { $reason }.
mark-throws-band = 1 abzüglich { $missing } je fehlendem Überwurf, { $wraps } bei anderer Zahl von Umschlingungen, { $direction } bei anderer Richtung
mark-throws-one-wrap = 1 Umschlingung
mark-throws-some-wraps = { $count } Umschlingungen
mark-throws-wraps = Überwurf { $number } (gelegt bei { $when }) hat { $read }, verlangt: { $ordered }
mark-throws-direction = Überwurf { $number } (gelegt bei { $when }) wurde { $read } geführt, verlangt: { $ordered }
mark-throws-missing = Überwurf { $number } ({ $wraps } { $direction }) fehlt
mark-throws-extra = Überwurf { $number } (gelegt bei { $when }) ist einer zu viel
mark-throws-read = Gelesen { $read }, verlangt { $ordered }, der letzte Überwurf gelegt bei { $when }.
mark-throws-none = Gelesen { $read }, verlangt { $ordered }.
mark-throws-differ = Gelesen { $read }, verlangt { $ordered }: { $differences }.
mark-throws-advice-wraps = Überwurf { $number } mit { $wraps } legen.
mark-throws-advice-direction = Den Nadelfaden für Überwurf { $number } { $direction } um den Nadelhalter führen.
mark-throws-advice-missing = Überwurf { $number } hinzufügen: { $wraps }, { $direction }.
mark-throws-advice-extra = Aufhören, wenn die verlangten Überwürfe liegen: weitere machen den Knoten nur dicker.

## Laid square and flat

mark-square-unclear = Ob der Knoten gegenläufig ist, ist nicht lesbar: { $reason }.
mark-square-single = Gelesen { $read }: weniger als zwei Überwürfe ergeben keinen gegenläufigen Knoten.
mark-square-band = 1 abzüglich { $crossed } je gleichläufigem Paar, { $sliding } bei gleitender Form
mark-square-crossed = Überwürfe { $before } und { $number } sind beide { $hand }gängig (gelegt bei { $when })
mark-square-alternate = alle Nachbarn sind gegenläufig
mark-square-measure = { $measure }; 0 flach bis 1 gerader Schenkel
mark-square-unmeasured = ihr Maß fehlt
mark-square-read = Gelesen { $read }: { $neighbours }; die Form ist { $form } ({ $measure }).
mark-square-advice-single = Einen zweiten Überwurf gegenläufig legen.
mark-square-advice-sliding = Beide Enden flach, auf gleicher Höhe und mit gleicher Kraft ziehen und bei jedem Überwurf die Hände kreuzen.
mark-square-advice-crossed = Überwurf { $number } gegenläufig zu Überwurf { $before } legen: von der anderen Seite umschlingen.

## Gum not blanched

mark-blanching-no-knot = Es wurde kein Knoten geknüpft, also auch kein Zahnfleisch gedrückt.
mark-blanching-unmeasured = Die Blässe wurde nicht gemessen.
mark-blanching-after-tying = 5 s nach dem Knüpfen
mark-blanching-at-end = am Ende
mark-blanching-pale = { $area } Zahnfleisch sind { $moment } blass ({ $when }{ $place }); { $dose } über den ganzen Versuch, am meisten bei { $peak_when } ({ $peak }{ $peak_place }).
mark-blanching-place = , im Lappen der { $flap } { $from_edge } von seinem Rand, { $along } längs der Wunde
mark-blanching-advice-stays = Den ersten Überwurf nur so weit zuziehen, bis der Faden eben am Zahnfleisch anliegt, und dann aufhören.
mark-blanching-advice-long = Beim Legen der Überwürfe keinen Zug halten: zuziehen, loslassen, weitermachen.

## Gum not torn

mark-tearing-none = An keinem von { $bites } Stichen ein Riss ({ $slit }).
mark-tearing-slit = Der Riss an Stich { $bite } von Naht { $stitch } ist { $length } ({ $when }).
mark-tearing-through = Der Riss an Stich { $bite } von Naht { $stitch } ist { $length } und reicht bis zum Rand ({ $when }).
mark-tearing-length = { $slit } lang
mark-tearing-unknown = von unbekannter Länge
mark-tearing-advice = Weiter vom Rand entfernt einstechen, dem Bogen der Nadel folgen und den Faden sanft in seiner eigenen Richtung ziehen.

## Knot beside the wound

mark-aside-unmeasured = Die Lage des Knotens wurde nicht gemessen.
mark-aside-inside = { $distance } innerhalb des Randes der Alveole
mark-aside-outside = { $distance } außerhalb des Randes der Alveole
mark-aside-lies = Der Knoten liegt { $from_line } von der Wundlinie auf der { $side }, { $place } ({ $when }).
mark-aside-lies-wrong = Der Knoten liegt { $from_line } von der Wundlinie auf der { $side }, verlangt ist die { $ordered }, { $place } ({ $when }).
mark-aside-advice = Bevor der letzte Überwurf fest ist, den Knoten zur { $side } ziehen, weg von der Alveole.

## Bites placed well

mark-bite-both-flaps = Die Nadel durch beide Lappen führen.
mark-bite-flap-missed = Der Lappen der { $flap } wurde nicht durchstochen.
mark-bite-bites = Stiche: { $bites }.
mark-bite-listed = { $side } { $distance } vom Rand, { $depth } tief{ $angle } ({ $when })
mark-bite-angle = , unter { $angle } Grad eingestochen
mark-bite-distance = der Abstand des Stichs auf der { $side } ist { $distance }
mark-bite-depth = die Tiefe des Stichs auf der { $side } ist { $depth }
mark-bite-distances = die Abstände unterscheiden sich um { $uneven }
mark-bite-depths = die Tiefen unterscheiden sich um { $uneven }
mark-bite-advice-distance = Vor dem Einstechen den verlangten Abstand vom Rand mit der Breite der Nadel abmessen.
mark-bite-advice-depth = Im rechten Winkel einstechen und die ganze Dicke des Lappens fassen.
mark-bite-advice-uneven = Den zweiten Stich als Spiegelbild des ersten setzen: gleicher Abstand, gleiche Tiefe.

## Stitches evenly spaced

mark-spacing-one = 1 von { $ordered } Nähten gesetzt: es gibt keinen Abstand zu bewerten.
mark-spacing-few = { $placed } von { $ordered } Nähten gesetzt: es gibt keinen Abstand zu bewerten.
mark-spacing-single = Verlangt war eine einzelne Naht: es gibt keinen Abstand zu bewerten.
mark-spacing-band-single = voll für eine einzelne Naht
mark-spacing-distances = Zwischen benachbarten Nähten: { $distances }; die Abstände unterscheiden sich um { $uneven } (letzter Stich bei { $when }).
mark-spacing-advice-uneven = Die Wunde vor dem ersten Stich einteilen und beim gleichen Abstand bleiben.
mark-spacing-advice-near = Mehr Platz zwischen den Nähten lassen.
mark-spacing-advice-far = Die Nähte näher aneinander setzen.

## Membrane covered and whole

mark-membrane-unmeasured = Die Membran wurde nicht gemessen.
mark-membrane-reaches = Die Membran reicht { $cheek } unter den Lappen der Wangenseite und { $tongue } unter den Lappen der Zungenseite ({ $when }); { $state }.
mark-membrane-whole = sie ist unversehrt
mark-membrane-pierced = die Nadel ging { $count }-mal durch sie hindurch, zuerst bei { $when }
mark-membrane-dragged = sie wurde { $way } von ihrem Platz verschoben, bis { $when }
mark-membrane-advice-dragged = Spitzen und Nadel von der Membran fernhalten: sie liegt lose unter den Lappen und folgt allem, was auf sie drückt.
mark-membrane-advice-bare = Den Stich setzen, ohne den Lappen von der Membran zu ziehen.
mark-membrane-advice-pierced = Den Lappen von der Membran abheben, bevor die Nadel einsticht, und ihre Spitze im Lappen halten.

## Edges lie level

mark-edges-no-knot = Es wurde kein Knoten geknüpft, also auch kein Rand an den anderen gezogen.
mark-edges-unmeasured = Die Ränder wurden nicht gemessen.
mark-edges-may-stay = was so bleiben darf
mark-edges-to-close = was zu schließen ist
mark-edges-level = keiner steht höher
mark-edges-higher = der Rand der { $side } steht { $step } höher, bei { $place }
mark-edges-apart = Die Ränder liegen höchstens { $gap } auseinander, { $asked }, bei { $place } längs der Wunde; { $higher } ({ $when }).
mark-edges-advice-gap = Den ersten Überwurf zuziehen, bis sich die Ränder berühren, und nicht weiter.
mark-edges-advice-step = Auf beiden Seiten gleich tief und im gleichen Abstand stechen und auf der Höhe des Zahnfleischs ziehen.

## Needle in hand

mark-needle-not-used = Die Nadel wurde nicht benutzt.
mark-needle-unmeasured = Wie stark die Nadelspitze aufgedrückt wurde, ist nicht gemessen.
mark-needle-never-dropped = Die Nadel wurde nie fallen gelassen
mark-needle-dropped-once = Die Nadel wurde einmal fallen gelassen, bei { $place }
mark-needle-dropped-often = Die Nadel wurde { $count }-mal fallen gelassen, zuerst bei { $place }
mark-needle-accounted = { $dropped }, und ihr Verbleib ist geklärt.
mark-needle-loose = { $dropped }, und am Ende lag sie lose da ({ $place }).
mark-needle-place = { $when }, { $along } längs der Wunde und { $across } quer dazu
mark-needle-unknown = unbekannt weit
mark-needle-bone = Knochen
mark-needle-tooth = einen Zahn
mark-needle-pushed-once = Ihre Spitze traf mit { $push } auf { $on }, bei { $place }.
mark-needle-pushed-often = Ihre Spitze traf { $count }-mal auf Knochen oder Zähne, am stärksten mit { $push } auf { $on }, bei { $place }.
mark-needle-drops = Mal fallen gelassen
mark-needle-pushes = N auf Knochen oder Zähne
mark-needle-advice-dropped = Das Maul um die Nadel schließen, bevor etwas anderes sie loslässt, und eine gefallene zuallererst aufnehmen.
mark-needle-advice-pushed = Die Nadel auf ihrem eigenen Bogen drehen und anhalten, wo sie auf Hartes trifft: zurückziehen und einen anderen Weg nehmen.

## Thread not harmed

mark-thread-not-used = Der Faden wurde nicht benutzt.
mark-thread-unmeasured = Was mit dem Faden geschah, wurde nicht gemessen.
mark-thread-no-grips = Das Maul des Nadelhalters fasste keinen Faden, der in der Wunde bleibt
mark-thread-grips = Das Maul des Nadelhalters fasste { $count }-mal Faden, der in der Wunde bleibt, zuerst bei { $when }, { $beyond } jenseits des Knotens von Naht { $stitch }
mark-thread-pull = der größte Zug im Faden war { $tension }, { $share } der Festigkeit, { $place } von der Nadel entfernt ({ $when })
mark-thread-sawing = durch Stich { $bite } von Naht { $stitch } wurde der Faden mit { $work } gezogen, am meisten bei { $when }
mark-thread-no-sawing = durch keinen Stich wurde der Faden gezogen
mark-thread-unit-grips = Mal gefasst
mark-thread-unit-strength = der Festigkeit
mark-thread-advice-grips = Nur die letzten Millimeter des Fadenendes ins Maul nehmen: sie werden abgeschnitten.
mark-thread-advice-pull = Einen Überwurf zuziehen, bis er liegt, nicht bis der Faden Widerstand leistet.
mark-thread-advice-sawing = Den Faden langsam und locker durchziehen, auf dem Weg, auf dem die Nadel aus dem Zahnfleisch kam.

## Ends cut to length

mark-ends-no-knot = Es wurde kein Knoten geknüpft, also gibt es keine Enden.
mark-ends-tie-then-cut = Den Knoten knüpfen, dann abschneiden.
mark-ends-advice = Beide Enden { $min } bis { $max } vom Knoten entfernt abschneiden.
mark-ends-none-cut = Keines der beiden Enden wurde abgeschnitten.
mark-ends-tail-not-cut = Das kurze Fadenende wurde nicht abgeschnitten.
mark-ends-strand-not-cut = Der Nadelfaden wurde nicht abgeschnitten.
mark-ends-unmeasured = Die Enden wurden nicht gemessen.
mark-ends-lengths = Das kurze Fadenende ist { $tail } lang (abgeschnitten bei { $tail_when }), das Ende des Nadelfadens { $strand } (abgeschnitten bei { $strand_when }).

## Knot holds

mark-holds-unmeasured = Der Knoten wurde nicht aufgezogen.
mark-holds-broke = So aufgezogen, wie er geknüpft war, hielt der Knoten { $force } bei { $slip } Schlupf, dann riss der Faden ({ $when }).
mark-holds-slipped = So aufgezogen, wie er geknüpft war, hielt der Knoten { $force } bei { $slip } Schlupf, dann rutschte er ({ $when }).
mark-holds-advice-broke = Einen stärkeren Faden nehmen und ihn nicht mit den Instrumenten quetschen.
mark-holds-advice-slipped = Jeden Überwurf fest und gegenläufig auf den vorigen ziehen; ein glatter Faden braucht einen Überwurf mehr.

## Stitch snug

mark-snug-unmeasured = Der Zug der Schlinge wurde nicht gemessen.
mark-snug-bears = Die Schlinge durch das Zahnfleisch steht am Ende unter { $tension } Zug ({ $when }).
mark-snug-advice = Den ersten Überwurf zuziehen, bis sich die Lappen eben bewegen.

## In good time

mark-time-no-knot = In der ganzen Zeit wurde kein Knoten geknüpft.
mark-time-unmeasured = Die Zeit wurde nicht gemessen.
mark-time-took = Der Versuch dauerte { $time }.
mark-time-advice = Vorher planen, wohin jede Hand geht, und keinen Weg zweimal machen; Eile ist nicht nötig.

## The site check

mark-site = Eingriffsort: beauftragt { $ordered }, markiert { $marked }.
mark-site-none = keiner
mark-site-marked = { $tooth } bei { $when }
mark-site-order = Der Auftrag nennt Zahn { $tooth }.
mark-site-no-tooth = Der erste Stich wurde bei { $bite } begonnen, ohne dass ein Zahn als Eingriffsort markiert war.
mark-site-other-tooth = Der erste Stich wurde bei { $bite } begonnen, als Eingriffsort markiert war Zahn { $tooth }, bei { $when }.
mark-site-other-side = Der erste Stich wurde bei { $bite } begonnen, als Eingriffsort markiert war Zahn { $tooth }, derselbe auf der anderen Seite, bei { $when }.

## Critical faults: the advice has the name of the fault in its key

mark-critical-torn-through = Der Faden riss bei { $when } aus Stich { $bite } von Naht { $stitch } aus.
mark-critical-knot-undone = Der Knoten von Naht { $stitch } ging bei { $when } auf.
mark-critical-needle-lost = Die Nadel ging bei { $when } verloren.
mark-critical-thread-broken = Der Faden riss bei { $when } unter einem Zug von { $tension }.
mark-critical-invalid = Die Simulation war in { $count } ihrer Zeitschritte ungültig, zuerst bei { $when }.
mark-critical-advice-wrong-site = Bevor sich die Nadel bewegt, den Auftrag lesen, Zahn und Seite laut nennen und beides auf dem Zahnbogen markieren; weicht es vom Auftrag ab, innehalten.
mark-critical-advice-tear-through = Weiter vom Rand entfernt einstechen und nicht weiterziehen, sobald das Zahnfleisch nachgibt.
mark-critical-advice-knot-undone = Die Überwürfe gegenläufig und flach legen, jeden anliegend zuziehen und die Enden lang genug lassen.
mark-critical-advice-needle-lost = Die Nadel im Nadelhalter parken und sie im Mund nie loslassen.
mark-critical-advice-thread-broken = Einen Überwurf zuziehen, bis er liegt, nicht bis er Widerstand leistet, und loslassen, bevor der Faden einschneidet.
mark-critical-advice-physically-invalid = Den Versuch wiederholen: das ist ein Fehler der Simulation, kein eigener.

## The same hands in other threads

mark-drawn = { $own } plus oder minus { $error }: dieselben Hände erreichen { $least } bis { $greatest } mit { $count } Fäden, deren Reibung und Steifigkeit aus den Bereichen des Materials gezogen sind (Startwert { $seed }){ $missing }; { $passing } bestehen, { $verdict }.
mark-drawn-none = Mit keinem von { $count } Fäden, gezogen aus den Bereichen des Materials, ließ sich der Versuch ausführen.
mark-drawn-missing = , davon { $missing } nicht bis zum Ende ausführbar
mark-drawn-passes = und bestanden ist er mit allen
mark-drawn-fails = und bestanden ist er mit keinem
mark-drawn-pass-hangs = und das Bestehen hängt vom Faden ab
mark-drawn-fail-hangs = und das Nichtbestehen hängt vom Faden ab

## What happened when

mark-event-wiped = Markierung des Eingriffsorts gelöscht
mark-event-marked = Zahn { $tooth } als Eingriffsort markiert
mark-event-of = { $what } von Naht { $stitch }
mark-event-bite = Stich { $number }
mark-event-bitten = { $bitten }, durch den Lappen der { $flap }
mark-event-throw = Überwurf { $number }
mark-event-laid = { $what } gelegt
mark-event-tail = Kurzes Fadenende
mark-event-strand = Nadelfaden
mark-event-cut = { $end } abgeschnitten
mark-event-knot = Knoten
mark-event-undone = { $knot } aufgegangen
mark-event-pierced = Nadel hat die Membran durchstochen
mark-event-dropped = Nadel fallen gelassen
mark-event-lost = Nadel verloren
mark-event-met-bone = Nadelspitze auf Knochen
mark-event-met-tooth = Nadelspitze auf einem Zahn
mark-event-tore-through = Loch { $number } durchgerissen
mark-event-tears = Loch { $number } begann einzureißen
mark-event-broke = Faden gerissen
