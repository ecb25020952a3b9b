# Anzahlen.

spots = { $count ->
    [one] 1 Messstelle
   *[other] { $count } Messstellen
}
