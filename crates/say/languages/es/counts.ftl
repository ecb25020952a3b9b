# Cantidades.

spots = { $count ->
    [one] 1 punto de medida
   *[other] { $count } puntos de medida
}
