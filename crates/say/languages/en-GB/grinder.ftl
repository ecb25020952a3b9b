# What stands first on the sheet for the grinder, and why a sheet no longer holds.

heading-crack = Crack, { $journals }: do not grind, straighten or run
heading-scrap = Scrap, { $sets }: grind nothing of this crank
heading-settle = Stop: settle this before anything is ground
heading-settle-bearings = Stop: settle this before anything is ground, ordered or fitted
heading-look-again = Look again first: readings of { $whose }
all-of-set = all { $set }
stop-answered = { $says } Decided all the same by { $answer }.

change-choice = The { $set } changed from { $from } to { $to }.
change-sizes = The sizes to work to changed for the { $set }.
change-decided = The { $set } were decided since.
change-no-longer-decided = The { $set } are no longer decided.
change-readings = Readings or the shop’s rules changed since, though no size to grind to did.
change-unknown = It was written by another program and cannot be compared with what holds now.
choice-as-such = { $choice ->
    [leave] leaving alone
    [polish] a polish only
    [build-up] building up
    [scrap] scrap
    [standard] standard
   *[not-decided] not decided yet
}
