# The lines of a history: what was done. Each follows “Undo”, so it begins in small letters where the language does so.

# What belongs to one entry, one after another.
with-details = { $parts }
# A place on a journal. $at is where along it, $plane in which direction across it.
deed-place = { $has ->
    [both] { $journal }, { $at }, across { $plane }
    [at] { $journal }, { $at }
    [plane] { $journal }, across { $plane }
   *[neither] { $journal }
}
deed-at = { $station ->
    [front] front
    [middle] middle
    [rear] rear
   *[other] { $text }
}
# A size as it was read: by eye, by a gauge that sends it, or copied from paper.
deed-size = { $source ->
    [gauge] { $size } from the gauge
    [paper] { $size } from paper
   *[typed] { $size }
}
nothing = nothing
detail = { $what ->
    [depth] depth { $figure }
    [top] top { $figure }
    [bottom] bottom { $figure }
    [heights] { $figure }
    [total] dial { $figure }
    [face_total] face { $figure }
    [high] high at { $figure }°
    [throw] throw { $figure }
    [index] index { $figure }°
    [marked] marked { $figure }
    [wall] wall { $figure }
    [crush] crush { $figure }
    [width] width { $figure }
    [rods] rods { $figure }
    [housing] housing { $figure }
    [front] front { $figure }
    [rear] rear { $figure }
   *[float] end float { $figure }
}
damage-kind = { $kind ->
    [scoring] scoring
    [ridges] ridges
    [pitting] pitting
    [rust] rust
    [heat] heat
    [pick-up] pick-up
    [crack] crack
    [other] other damage
   *[unknown] { $text }
}
decided-choice = { $choice ->
    [leave] leave alone
    [polish] polish only
    [build-up] build up
    [scrap] scrap
    [not-decided] not decided
   *[size] { $text }
}

deed-booked-in = { $of ->
    [both] booking in { $crank } of { $customer }
    [crank] booking in { $crank }
    [customer] booking in a crank of { $customer }
   *[neither] booking in a crank
}
deed-reading = { $size } at { $place }
deed-run-out = run-out { $size } at { $journal }
deed-trace = { $count ->
    [one] a trace of 1 departure at { $place }
   *[other] a trace of { $count } departures at { $place }
}
deed-centre = the centre of { $journal }
deed-damage = { $kind } at { $place }
deed-worn = how { $journal } is worn: { $share }
deed-stamped = { $whose } stamped { $undersize }
deed-housing = housing of { $place }: { $size }
deed-housing-place = { $has ->
    [both] { $journal }, { $at }, { $plane }
    [at] { $journal }, { $at }
    [plane] { $journal }, { $plane }
   *[neither] { $journal }
}
deed-shell = half shell of { $whose }
deed-shells = { $count } × half shell of { $whose }
deed-bearing = bearing of { $journal }
deed-thrust = thrust bearing at { $journal }
deed-roughness = { $when ->
    [after] roughness at { $place } when finished: Ra { $ra }
   *[before] roughness at { $place }: Ra { $ra }
}
deed-lay = { $lay ->
    [around] lay around
    [along] lay along
    [crossed] lay crossed
   *[other] lay { $text }
}
deed-dial = { $count ->
    [one] a dial on { $journal }, 1 reading
   *[other] a dial on { $journal }, { $count } readings
}
deed-height = heights of { $journal }
deed-feature = a dial on the { $name }
deed-case = depth of the case, { $whose }: { $depth }
deed-carried = the shaft in vees under { $mains }
deed-carried-centres = the shaft on centres
of-the-engine = engine
of-the-crank = crank
deed-instrument = micrometer { $name }
deed-instrument-unnamed = micrometer without a name
deed-micrometer-changed = change to { $name }
deed-zero = { $at ->
    [start] zero of { $name } at the start: { $reads }
    [change] zero of { $name } when taken up: { $reads }
   *[end] zero of { $name } at the end: { $reads }
}
deed-flag = look again: { $says }
deed-flag-about = look again at { $what }: { $says }
deed-settled = { $how ->
    [kept] keeping { $what }
    [struck-out] striking out { $what }
    [again] striking out { $what }, measured again
   *[again-as] striking out { $what }, measured again: { $new }
}
deed-noted = noting the remark
the-remark = the remark
a-spot = a spot
deed-again = { $found ->
    [agrees] second reading { $size } at { $place }, agrees
    [clashes] second reading { $size } at { $place }, clashes
   *[settles] third reading { $size } at { $place }, settles it
}
deed-policy = how this job is judged: { $says }
deed-wanted = clearances wanted: { $says }
deed-wanted-of-manual = clearances wanted: those of the manual
deed-decision = decision for the { $set }: { $choice }
deed-decision-overruled = decision for the { $set }: { $choice }, overruling the rule: { $reason }
deed-sheet = sheet { $code } for the grinder
deed-sheet-replacing = sheet { $code } for the grinder, in place of { $old }
deed-while-grinding = while grinding, { $reading }
deed-cleaned-up = { $journal } cleaned up
deed-not-cleaned-up = { $journal } did not clean up
deed-not-cleaned-up-left = { $journal } did not clean up: { $left }
deed-sent = { $count ->
    [0] sending to treatment in batch { $batch }
    [one] sending to treatment in batch { $batch } with 1 size
   *[other] sending to treatment in batch { $batch } with { $count } sizes
}
deed-back = { $count ->
    [0] return from treatment in batch { $batch }
    [one] return from treatment in batch { $batch } with 1 size
   *[other] return from treatment in batch { $batch } with { $count } sizes
}
deed-final = final check, { $reading }
deed-looked = { $passed ->
    [yes] { $item } passed, looked at by { $who }
   *[no] { $item } not passed, looked at by { $who }
}
deed-looked-says = { $passed ->
    [yes] { $item } passed, looked at by { $who }: { $says }
   *[no] { $item } not passed, looked at by { $who }: { $says }
}
deed-signed = signing off: { $says }
deed-reopened = reopening: { $reason }
deed-handed-over = handing over to { $to }
deed-moved = moving to ‘{ $stage }’
deed-archived = putting away: { $reason }
deed-out-of-archive = taking up again
deed-note = note: { $says }
deed-photograph = photograph: { $caption }
deed-photograph-of = photograph of { $journal }: { $caption }
deed-undo = undoing { $what }
deed-undo-unknown = undoing an entry
an-undo = an undo

# Buttons.
undo = Undo { $what }
put-back = Put back { $what }
put-back-unknown = Put back what was undone
