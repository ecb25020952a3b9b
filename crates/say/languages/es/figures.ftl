# Cifras con sus unidades. Los dígitos llegan como deben imprimirse.
# Nunca «milésima», «décima» ni «centésima» como palabra: cifra y unidad.

size = { $figure } { $unit }
window = de { $from } a { $to } { $unit }
undersize = submedida { $size }

temperature = { $celsius } °C
torque = { $newton-metres } N·m
pressure = { $bar } bar

# «y» se vuelve «e» delante del sonido i, y «o» se vuelve «u» delante del sonido o.
list-more = { $most }, { $next }
list-and = { $sound ->
    [i] { $most } e { $last }
   *[other] { $most } y { $last }
}
list-or = { $sound ->
    [o] { $most } u { $last }
   *[other] { $most } o { $last }
}

date = { $day } de { $month ->
    [1] enero
    [2] febrero
    [3] marzo
    [4] abril
    [5] mayo
    [6] junio
    [7] julio
    [8] agosto
    [9] septiembre
    [10] octubre
    [11] noviembre
   *[12] diciembre
} de { $year }
date-short = { $day-of-two }/{ $month-of-two }/{ $year }
time = { $hour }:{ $minute } h

on-that-day = { $when-short }
at-that-time = { $when-time }
