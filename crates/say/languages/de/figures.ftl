# Zahlen mit ihren Einheiten. Die Ziffern kommen so, wie sie zu drucken sind.
# Nie „Tausendstel“, „Zehntel“ oder „Hundertstel“ als Wort: Zahl und Einheit.
# Untermaß nie in Großbuchstaben (UNTERMASS).

size = { $figure } { $unit }
window = { $from } bis { $to } { $unit }
undersize = Untermaß { $size }

temperature = { $celsius } °C
torque = { $newton-metres } Nm
pressure = { $bar } bar

list-more = { $most }, { $next }
list-and = { $most } und { $last }
list-or = { $most } oder { $last }

date = { $day-of-two }.{ $month-of-two }.{ $year }
date-short = { $day-of-two }.{ $month-of-two }.{ $year }
time = { $hour }:{ $minute } Uhr

on-that-day = { $when-short }
at-that-time = { $when-time }
