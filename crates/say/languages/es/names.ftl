# Nombres de los muñones y de sus grupos: el apoyo de bancada (m), la muñequilla (f).

journal = { $set ->
    [main] apoyo de bancada { $number }
   *[pin] muñequilla { $number }
}

set = { $set ->
    [main] apoyos de bancada
   *[pin] muñequillas
}

one-of-set = { $set ->
    [main] apoyo de bancada
   *[pin] muñequilla
}

journals-listed = { $set ->
    [main] apoyos de bancada { $numbers }
   *[pin] muñequillas { $numbers }
}
journals-in-a-row = { $set ->
    [main] apoyos de bancada { $first } a { $last }
   *[pin] muñequillas { $first } a { $last }
}
