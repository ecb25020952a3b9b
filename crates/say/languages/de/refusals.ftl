# Warum etwas jetzt nicht geht, und was zu tun ist. Was ein Blatt oder eine Warnung selbst sagt, steht in deren Worten ($says).

as-told = { $says }

nothing-measured = Noch ist nichts gemessen.
chance-not-known = Die Wahrscheinlichkeit wird noch berechnet.
crack-stands = { $journal-start }: Ein Riss ist gemeldet. Solange das so steht, geht nichts zum Schleifen und nichts weiter. Lassen Sie ihn von einer Fachkraft nach dem Werkstatthandbuch beurteilen.
cannot-be = { $found } ist nicht möglich: erwartet { $expected }; { $advice }.
no-micrometer = Dieser Auftrag hat keine Messschraube „{ $name }“. Nehmen Sie sie zuerst für diesen Auftrag in Gebrauch.
no-such-journal = Diese Kurbelwelle hat keinen solchen Zapfen.
crank-has-no = { $journal-start } gibt es an dieser Kurbelwelle nicht.

set-not-measured = Dieser Satz ist nicht gemessen, darum kann nichts entschieden werden.
no-decision = Damit bleibt der Satz offen; das ist keine Entscheidung.
no-such-choice = Wählen Sie eine der Stufen oder eine andere Arbeit.
say-why = Geben Sie den Grund an: Er steht in der Akte und auf dem Schleifblatt.
own-words = Etwas spricht dagegen; es steht am Anfang der Beurteilung. Schreiben Sie in eigenen Worten, warum es weitergeht.
doubtful-stands = { $says } Sehen Sie noch einmal nach und berichtigen Sie es. Stimmt es doch, entscheiden Sie mit einem Grund in eigenen Worten; er steht auf dem Schleifblatt.
stop-stands = { $says } Solange das so steht, geht nichts zum Schleifen. Ist es erledigt oder soll die Welle trotzdem geschliffen werden, entscheiden Sie jeden Satz mit einem Grund in eigenen Worten; er steht auf dem Schleifblatt.
left-open = { $why ->
    [heat] { $set-start }: Die Entscheidung war getroffen, aber die Beurteilung lässt sie jetzt offen: zuerst Härte und Risse prüfen. Entscheiden Sie neu und geben Sie den Grund an.
    [bend] { $set-start }: Die Entscheidung war getroffen, aber die Beurteilung lässt sie jetzt offen: zuerst die Verbiegung klären. Entscheiden Sie neu und geben Sie den Grund an.
    [readings] { $set-start }: Die Entscheidung war getroffen, aber die Beurteilung lässt sie jetzt offen: die Messwerte noch einmal ansehen. Entscheiden Sie neu und geben Sie den Grund an.
    [bigger-than-new] { $set-start }: Die Entscheidung war getroffen, aber die Beurteilung lässt sie jetzt offen: größer als neu, noch einmal messen. Entscheiden Sie neu und geben Sie den Grund an.
    [too-close] { $set-start }: Die Entscheidung war getroffen, aber die Beurteilung lässt sie jetzt offen: nicht entscheidbar, noch einmal messen. Entscheiden Sie neu und geben Sie den Grund an.
    [too-little] { $set-start }: Die Entscheidung war getroffen, aber die Beurteilung lässt sie jetzt offen: zuerst messen, was noch fehlt. Entscheiden Sie neu und geben Sie den Grund an.
    [two-sizes] { $set-start }: Die Entscheidung war getroffen, aber die Beurteilung lässt sie jetzt offen: verschieden große Zapfen, nach dem Grund fragen. Entscheiden Sie neu und geben Sie den Grund an.
   *[wear-limit] { $set-start }: Die Entscheidung war getroffen, aber die Beurteilung lässt sie jetzt offen: die Verschleißgrenze im Werkstatthandbuch nachsehen. Entscheiden Sie neu und geben Sie den Grund an.
}
set-not-decided = { $set-start }: noch nicht entschieden.
build-up-before-grinding = { $set-start }: zuerst auftragen, nur wo der Hersteller es erlaubt; dann neu messen und entscheiden.
given-up-no-sheet = { $set-start }: werden nicht geschliffen, darum gibt es kein Schleifblatt.
nothing-to-grind = Kein Satz wird geschliffen, darum gibt es kein Schleifblatt auszustellen.
another-plan = Der Plan sagt nicht, was entschieden wurde.
grinder-is-next = Ein Satz ist zu schleifen; als Nächstes kommt das Schleifen.

job-archived = Auftrag { $job } ist abgelegt.
job-signed-off = Auftrag { $job } ist freigegeben. Öffnen Sie ihn zuerst wieder.
away-already = Auftrag { $job } ist schon mit Charge { $batch } unterwegs.
not-ground = Auftrag { $job } steht bei „{ $stage }“: Die Welle ist noch nicht geschliffen.
which-batch = Wählen Sie die Charge, mit der die Welle geht.
not-away = Auftrag { $job } ist nicht unterwegs.
away-in-another = Auftrag { $job } ist mit Charge { $batch } unterwegs, nicht mit dieser.
stage = { $stage ->
    [booked-in] Angenommen
    [measuring] Messen
    [to-decide] Zu entscheiden
    [at-the-grinder] Beim Schleifen
    [at-treatment] In der Härterei
    [final-check] Endprüfung
    [ready] Fertig
   *[collected] Abgeholt
}

archived-not-signed = Der Auftrag ist abgelegt. Holen Sie ihn zuerst zurück.
nothing-decided = { $set-start }: noch nichts entschieden.
given-up = { $set-start }: aufgegeben. Eine Welle, die nicht mehr verwendbar ist, wird nicht freigegeben.
to-be-built-up = { $set-start }: werden aufgetragen. Entscheiden Sie danach die Stufe.
at-treatment = Die Welle ist in der Härterei.
nobody-said = { $journal-start }: Niemand hat gesagt, ob er beim Schleifen sauber geworden ist.
not-cleaned-up = { $journal-start } ist beim Schleifen nicht sauber geworden.
spots-not-measured = { $count ->
    [one] 1 Messstelle ist nicht gemessen.
   *[other] { $count } Messstellen sind nicht gemessen.
}
spot = { $station ->
    [front] { $journal }, vorn, quer { $across }
    [middle] { $journal }, Mitte, quer { $across }
   *[rear] { $journal }, hinten, quer { $across }
}
too-old = { $why ->
    [sheet-replaced] nach einem Schleifblatt, das ersetzt wurde
    [ground-again] vor dem letzten Schleifen
   *[treated-since] vor der Rückkehr aus der Härterei
}
reading-too-old = { $spot-start }: gemessen { $why }.
at-spot = { $spot-start }: { $says }
form-over = { $form ->
    [taper] { $journal-start }: Konizität { $found }, mehr als die { $limit } im Werkstatthandbuch.
   *[out-of-round] { $journal-start }: Unrundheit { $found }, mehr als die { $limit } im Werkstatthandbuch.
}
too-rough = { $journal-start }, { $at }: Mittenrauwert Ra { $found }, mehr als die { $limit } im Werkstatthandbuch.
eye-item = { $item ->
    [radius] Hohlkehlenradius
    [oilways-open] Ölkanäle offen
    [plugs-refitted] Verschlussstopfen eingesetzt
    [crack-test] Rissprüfung
    [demagnetised] Entmagnetisiert
    [finish] Oberfläche
    [stamp] Einschlag
    [straightness] Geradheit
   *[other] { $text }
}
eye-not-answered = { $item-start }: nicht beantwortet.
eye-not-passed = { $item-start }: nicht bestanden.
eye-must-be-done = { $item-start }: nicht gemacht, muss aber sein.
signed-already = Der Auftrag ist schon freigegeben.
not-said = Ankreuzen, um ohne dies freizugeben: { $left-out }
handed-over-already = Die Welle wurde schon übergeben.
not-signed-off = Die Welle ist nicht freigegeben, darum wird sie nicht übergeben.
nothing-signed = Der Auftrag ist nicht freigegeben.
why-reopened = Geben Sie an, warum er wieder geöffnet wird.
ready-by-signing = Ein Auftrag ist fertig, wenn die Endprüfung unterschrieben ist, nicht durch Verschieben.
collected-by-handing-over = Ein Auftrag ist abgeholt, wenn die Welle übergeben ist, nicht durch Verschieben.

not-signed-one = Nicht freigegeben. { $says }
not-signed-many = { $count ->
    [one] Nicht freigegeben: 1 Punkt spricht dagegen.
   *[other] Nicht freigegeben: { $count } Punkte sprechen dagegen.
}

do-measure = Zuerst messen.
do-look-again = Sehen Sie gleich noch einmal nach der Beurteilung.
do-after-a-crack = Einen Riss beantwortet man nie mit einem Grund. Wurde er aus Versehen gemeldet, berichtigen Sie zuerst diese Zeile.
do-put-right = Berichtigen Sie es unter Messen oder Auftragsdaten.
do-change-marked = Ändern Sie, was markiert ist, und speichern Sie.
do-choose-with-reason = Wählen Sie, was zu tun ist, und schreiben Sie den Grund.
do-choose-of = Es gibt: { $choices }.
do-write-reason = Wählen Sie einen Grund oder schreiben Sie ihn in wenigen Worten.
do-on-the-sheet = Er steht auf dem Schleifblatt.
do-settle-at-verdict = Klären Sie es bei der Beurteilung, oder entscheiden Sie jeden Satz mit einem Grund; ein Riss wird nie so beantwortet.
do-to-final-check = Gehen Sie stattdessen zur Endprüfung.
do-take-the-plan = Nehmen Sie den Plan, wie er jetzt entschieden ist.
do-issue-sheet = Stellen Sie das Schleifblatt aus.
do-count-from-nose = Zählen Sie die Zapfen von der Riemenscheibenseite: main 1, pin 2.
do-out-of-archive = Holen Sie ihn zuerst zurück.
do-reason-there = Geben Sie dort den Grund an.
do-take-back-first = Nehmen Sie die Welle zuerst zurück oder aus dieser Charge heraus.
do-grind-first = Lassen Sie die Welle zuerst schleifen.
do-open-batch = Legen Sie die Charge zuerst an, wenn sie neu ist.
do-look-at-history = Sehen Sie im Verlauf nach.
do-look-at-batch = Sehen Sie nach dem Kennzeichen der Charge.
do-at-final-check = Bringen Sie es bei der Endprüfung in Ordnung und unterschreiben Sie dann.
do-reopen = Öffnen Sie ihn zuerst wieder und geben Sie den Grund an.
do-say-left-out = Sagen Sie im unterschriebenen Satz, was weggelassen wurde.
do-undo-first = Machen Sie das zuerst rückgängig, falls es falsch ist.
do-finish-final-check = Schließen Sie zuerst die Endprüfung ab.
do-go-on = Es gibt nichts wieder zu öffnen; machen Sie weiter.
do-next-revision = Der Grund steht in der nächsten Fassung.
do-finish-and-sign = Schließen Sie die Endprüfung ab und unterschreiben Sie.
do-sign-and-hand-over = Unterschreiben Sie die Endprüfung und übergeben Sie die Welle.
