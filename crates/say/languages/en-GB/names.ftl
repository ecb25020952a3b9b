# Names of journals and of their sets. $pin is the shop's own word for the journal that a rod runs on.

journal = { $set ->
    [main] main { $number }
   *[pin] { $pin ->
        [big-end] big end { $number }
       *[pin] pin { $number }
    }
}

# A whole set, in the middle of a sentence.
set = { $set ->
    [main] mains
   *[pin] { $pin ->
        [big-end] big ends
       *[pin] pins
    }
}

# One of a set, whichever.
one-of-set = { $set ->
    [main] main
   *[pin] { $pin ->
        [big-end] big end
       *[pin] pin
    }
}

# Journals of one set: their numbers are a list, or run from the first to the last.
journals-listed = { $set ->
    [main] mains { $numbers }
   *[pin] { $pin ->
        [big-end] big ends { $numbers }
       *[pin] pins { $numbers }
    }
}
journals-in-a-row = { $set ->
    [main] mains { $first } to { $last }
   *[pin] { $pin ->
        [big-end] big ends { $first } to { $last }
       *[pin] pins { $first } to { $last }
    }
}
