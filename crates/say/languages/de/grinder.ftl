# Was auf dem Schleifblatt zuerst steht, und warum ein Blatt nicht mehr gilt.

heading-crack = Riss, { $journals }: nicht schleifen, nicht richten, nicht einbauen
heading-scrap = Nicht mehr verwendbar, { $sets }: an dieser Welle nichts schleifen
heading-settle = Halt: erst klären, dann schleifen
heading-settle-bearings = Halt: erst klären, dann schleifen, bestellen oder einbauen
heading-look-again = Zuerst noch einmal ansehen: Messwerte von { $whose }
all-of-set = alle { $set }
stop-answered = { $says } Trotzdem entschieden von { $answer }.

change-choice = { $set-start }: geändert von { $from } zu { $to }.
change-sizes = { $set-start }: Die Arbeitsmaße haben sich geändert.
change-decided = { $set-start }: seither entschieden.
change-no-longer-decided = { $set-start }: nicht mehr entschieden.
change-readings = Messwerte oder Werkstattregeln haben sich seither geändert, aber kein Schleifmaß.
change-unknown = Es wurde von einem anderen Programm geschrieben und lässt sich mit dem, was jetzt gilt, nicht vergleichen.
choice-as-such = { $choice ->
    [leave] „nicht schleifen“
    [polish] „nur polieren“
    [build-up] „auftragen“
    [scrap] „nicht mehr verwendbar“
    [standard] Standardmaß
   *[not-decided] „nicht entschieden“
}
