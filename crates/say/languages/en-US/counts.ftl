# How many of something.

spots = { $count ->
    [one] 1 spot
   *[other] { $count } spots
}
