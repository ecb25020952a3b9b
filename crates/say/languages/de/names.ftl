# Namen der Zapfen und ihrer Sätze. Die Mehrzahl von Zapfen lautet wie die Einzahl.

journal = { $set ->
    [main] Hauptlagerzapfen { $number }
   *[pin] Hubzapfen { $number }
}

set = { $set ->
    [main] Hauptlagerzapfen
   *[pin] Hubzapfen
}

one-of-set = { $set ->
    [main] Hauptlagerzapfen
   *[pin] Hubzapfen
}

journals-listed = { $set ->
    [main] Hauptlagerzapfen { $numbers }
   *[pin] Hubzapfen { $numbers }
}
journals-in-a-row = { $set ->
    [main] Hauptlagerzapfen { $first } bis { $last }
   *[pin] Hubzapfen { $first } bis { $last }
}
