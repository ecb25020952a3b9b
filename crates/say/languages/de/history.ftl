# Die Zeilen eines Verlaufs: was getan wurde. Jede kann hinter „Rückgängig:“ stehen.

with-details = { $parts }
deed-place = { $has ->
    [both] { $journal }, { $at }, quer { $plane }
    [at] { $journal }, { $at }
    [plane] { $journal }, quer { $plane }
   *[neither] { $journal }
}
deed-at = { $station ->
    [front] vorn
    [middle] Mitte
    [rear] hinten
   *[other] { $text }
}
deed-size = { $source ->
    [gauge] { $size } vom Messgerät
    [paper] { $size } vom Papier
   *[typed] { $size }
}
nothing = nichts
detail = { $what ->
    [depth] Tiefe { $figure }
    [top] oben { $figure }
    [bottom] unten { $figure }
    [heights] { $figure }
    [total] Messuhr { $figure }
    [face_total] Planfläche { $figure }
    [high] Hochpunkt bei { $figure }°
    [throw] Kurbelradius { $figure }
    [index] Winkellage { $figure }°
    [marked] gekennzeichnet { $figure }
    [wall] Wanddicke { $figure }
    [crush] Überstand { $figure }
    [width] Breite { $figure }
    [rods] Pleuel { $figure }
    [housing] Lageraufnahme { $figure }
    [front] vorn { $figure }
    [rear] hinten { $figure }
   *[float] Axialspiel der Kurbelwelle { $figure }
}
damage-kind = { $kind ->
    [scoring] Riefen
    [ridges] Grate
    [pitting] Grübchen
    [rust] Rost
    [heat] Überhitzung
    [pick-up] Lagermetall auf dem Zapfen
    [crack] Riss
    [other] anderer Schaden
   *[unknown] { $text }
}
decided-choice = { $choice ->
    [leave] nicht schleifen
    [polish] nur polieren
    [build-up] auftragen
    [scrap] nicht mehr verwendbar
    [not-decided] nicht entschieden
   *[size] { $text }
}

deed-booked-in = { $of ->
    [both] Annahme: { $crank } von { $customer }
    [crank] Annahme: { $crank }
    [customer] Annahme: eine Kurbelwelle von { $customer }
   *[neither] Annahme: eine Kurbelwelle
}
deed-reading = { $size }, { $place }
deed-run-out = Rundlaufabweichung { $size } (Gesamtausschlag der Messuhr), { $journal }
deed-trace = { $count ->
    [one] Aufzeichnung mit 1 Abweichung, { $place }
   *[other] Aufzeichnung mit { $count } Abweichungen, { $place }
}
deed-centre = Mitte von { $journal }
deed-damage = { $kind }, { $place }
deed-worn = wie { $journal } verschlissen ist: { $share }
deed-stamped = { $whose }: Einschlag { $undersize }
deed-housing = Lageraufnahme, { $place }: { $size }
deed-housing-place = { $has ->
    [both] { $journal }, { $at }, { $plane }
    [at] { $journal }, { $at }
    [plane] { $journal }, { $plane }
   *[neither] { $journal }
}
deed-shell = Lagerschale, { $whose }
deed-shells = { $count } × Lagerschale, { $whose }
deed-bearing = Lager, { $journal }
deed-thrust = Passlager, { $journal }
deed-roughness = { $when ->
    [after] Mittenrauwert Ra { $ra }, { $place }, nach der Bearbeitung
   *[before] Mittenrauwert Ra { $ra }, { $place }
}
deed-lay = { $lay ->
    [around] Rillenrichtung umlaufend
    [along] Rillenrichtung längs
    [crossed] Rillenrichtung gekreuzt
   *[other] Rillenrichtung { $text }
}
deed-dial = { $count ->
    [one] Messuhr an { $journal }, 1 Ablesung
   *[other] Messuhr an { $journal }, { $count } Ablesungen
}
deed-height = Höhen, { $journal }
deed-feature = Messuhr an: { $name }
deed-case = Einhärtetiefe, { $whose }: { $depth }
deed-carried = Welle in Prismen unter { $mains }
deed-carried-centres = Welle zwischen Spitzen
of-the-engine = Motor
of-the-crank = Kurbelwelle
deed-instrument = Messschraube { $name }
deed-instrument-unnamed = Messschraube ohne Namen
deed-micrometer-changed = Wechsel zu { $name }
deed-zero = { $at ->
    [start] Nullprüfung { $name } am Anfang: { $reads }
    [change] Nullprüfung { $name } beim Wechsel: { $reads }
   *[end] Nullprüfung { $name } am Ende: { $reads }
}
deed-flag = noch einmal ansehen: { $says }
deed-flag-about = noch einmal ansehen, { $what }: { $says }
deed-settled = { $how ->
    [kept] behalten: { $what }
    [struck-out] gestrichen: { $what }
    [again] gestrichen: { $what }, neu gemessen
   *[again-as] gestrichen: { $what }, neu gemessen: { $new }
}
deed-noted = Hinweis zur Kenntnis genommen
the-remark = der Hinweis
a-spot = eine Messstelle
deed-again = { $found ->
    [agrees] zweiter Messwert { $size }, { $place }: stimmt überein
    [clashes] zweiter Messwert { $size }, { $place }: widerspricht
   *[settles] dritter Messwert { $size }, { $place }: entscheidet
}
deed-policy = wie dieser Auftrag beurteilt wird: { $says }
deed-wanted = gewünschtes Lagerspiel: { $says }
deed-wanted-of-manual = gewünschtes Lagerspiel: das des Werkstatthandbuchs
deed-decision = Entscheidung, { $set }: { $choice }
deed-decision-overruled = Entscheidung, { $set }: { $choice }, abweichend von der Werkstattregel: { $reason }
deed-sheet = Schleifblatt { $code }
deed-sheet-replacing = Schleifblatt { $code }, ersetzt { $old }
deed-while-grinding = beim Schleifen: { $reading }
deed-cleaned-up = { $journal } ist beim Schleifen sauber geworden
deed-not-cleaned-up = { $journal } ist beim Schleifen nicht sauber geworden
deed-not-cleaned-up-left = { $journal } ist beim Schleifen nicht sauber geworden: { $left }
deed-sent = { $count ->
    [0] zur Wärmebehandlung mit Charge { $batch }
    [one] zur Wärmebehandlung mit Charge { $batch }, 1 Maß
   *[other] zur Wärmebehandlung mit Charge { $batch }, { $count } Maße
}
deed-back = { $count ->
    [0] zurück von der Wärmebehandlung mit Charge { $batch }
    [one] zurück von der Wärmebehandlung mit Charge { $batch }, 1 Maß
   *[other] zurück von der Wärmebehandlung mit Charge { $batch }, { $count } Maße
}
deed-final = Endprüfung: { $reading }
deed-looked = { $passed ->
    [yes] { $item }: bestanden, geprüft von { $who }
   *[no] { $item }: nicht bestanden, geprüft von { $who }
}
deed-looked-says = { $passed ->
    [yes] { $item }: bestanden, geprüft von { $who }: { $says }
   *[no] { $item }: nicht bestanden, geprüft von { $who }: { $says }
}
deed-signed = Freigabe: { $says }
deed-reopened = wieder geöffnet: { $reason }
deed-handed-over = Übergabe an { $to }
deed-moved = weiter zu „{ $stage }“
deed-archived = abgelegt: { $reason }
deed-out-of-archive = aus der Ablage geholt
deed-note = Notiz: { $says }
deed-photograph = Foto: { $caption }
deed-photograph-of = Foto, { $journal }: { $caption }
deed-undo = rückgängig gemacht: { $what }
deed-undo-unknown = ein Eintrag rückgängig gemacht
an-undo = ein Rückgängigmachen

undo = Rückgängig: { $what }
put-back = Wiederherstellen: { $what }
put-back-unknown = Wiederherstellen
