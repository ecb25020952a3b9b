# Names of journals and of their sets.

journal = { $set ->
    [main] main { $number }
   *[pin] rod journal { $number }
}

# A whole set, in the middle of a sentence.
set = { $set ->
    [main] mains
   *[pin] rod journals
}

# One of a set, whichever.
one-of-set = { $set ->
    [main] main
   *[pin] rod journal
}

# Journals of one set: their numbers are a list, or run from the first to the last.
journals-listed = { $set ->
    [main] mains { $numbers }
   *[pin] rod journals { $numbers }
}
journals-in-a-row = { $set ->
    [main] mains { $first } to { $last }
   *[pin] rod journals { $first } to { $last }
}
