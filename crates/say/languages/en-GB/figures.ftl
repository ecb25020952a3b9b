# Figures with their units. The digits come as they are to be printed; only their point or comma is set by the language.

size = { $figure } { $unit }
window = { $from } to { $to } { $unit }
undersize = { $size } under

temperature = { $celsius } °C
torque = { $newton-metres } Nm ({ $pound-feet } lbf ft)
pressure = { $bar } bar ({ $psi } psi)

# Lists. $sound is how the last one begins to be spoken: i, o, or other.
list-more = { $most }, { $next }
list-and = { $most } and { $last }
list-or = { $most } or { $last }

date = { $day } { $month ->
    [1] January
    [2] February
    [3] March
    [4] April
    [5] May
    [6] June
    [7] July
    [8] August
    [9] September
    [10] October
    [11] November
   *[12] December
} { $year }
date-short = { $day } { $month ->
    [1] Jan
    [2] Feb
    [3] Mar
    [4] Apr
    [5] May
    [6] Jun
    [7] Jul
    [8] Aug
    [9] Sep
    [10] Oct
    [11] Nov
   *[12] Dec
} { $year }
time = { $hour }:{ $minute }

# A moment in a table or on a narrow paper.
on-that-day = { $when-short }
at-that-time = { $when-time }
