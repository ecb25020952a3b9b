# Why something is not done now, and what to do about it. What a sheet or a stop says comes in its own words ($says).

as-told = { $says }

nothing-measured = Nothing is measured yet.
chance-not-known = The chance is still being worked out.
crack-stands = A crack is reported on { $journal }. Nothing goes to the grinder, and nothing goes on, while that stands. Have it judged by somebody qualified to, against the maker’s manual.
cannot-be = { $found } cannot be: expected { $expected }; { $advice }.
no-micrometer = This job has no micrometer ‘{ $name }’. Take it up for this job first.
no-such-journal = This crank has no such journal.
crank-has-no = This crank has no { $journal }.

# Decisions and the sheet for the grinder.
set-not-measured = That set is not measured, so it cannot be decided.
no-decision = That leaves the set open, so it is no decision.
no-such-choice = Choose one of the sizes, or what else to do.
say-why = Say why: the record and the sheet carry the reason.
own-words = Something stands against it, named at the head of the verdict. Write in your own words why it goes on.
doubtful-stands = { $says } Look again at it and put it right. If it stands, decide with a reason in your own words; it goes on the sheet.
stop-stands = { $says } Nothing goes to the grinder while that stands. If it was dealt with, or the crank is to be ground all the same, decide each set with a reason in your own words; it goes on the sheet.
left-open = { $why ->
    [heat] The { $set } were decided, but the verdict now leaves them open: test for hardness and cracks first. Decide them again, with a reason.
    [bend] The { $set } were decided, but the verdict now leaves them open: the bend is settled first. Decide them again, with a reason.
    [readings] The { $set } were decided, but the verdict now leaves them open: look at the readings again. Decide them again, with a reason.
    [bigger-than-new] The { $set } were decided, but the verdict now leaves them open: bigger than new, measure again. Decide them again, with a reason.
    [too-close] The { $set } were decided, but the verdict now leaves them open: too close to call, measure again. Decide them again, with a reason.
    [too-little] The { $set } were decided, but the verdict now leaves them open: measure what is missing first. Decide them again, with a reason.
    [two-sizes] The { $set } were decided, but the verdict now leaves them open: journals of different sizes, ask why. Decide them again, with a reason.
   *[wear-limit] The { $set } were decided, but the verdict now leaves them open: look up the manual's wear limit. Decide them again, with a reason.
}
set-not-decided = The { $set } are not decided.
build-up-before-grinding = The { $set } are to be built up first. Only where the maker permits it; then measure them again and decide.
given-up-no-sheet = The { $set } are not to be ground, so there is no sheet.
nothing-to-grind = No set is to be ground, so there is no sheet to issue.
another-plan = The plan does not say what was decided.
grinder-is-next = A set is to be ground, so the grinder is next.

# Treatment.
job-archived = Job { $job } is put away.
job-signed-off = Job { $job } is signed off. Reopen it first.
away-already = Job { $job } is away in batch { $batch } already.
not-ground = Job { $job } is at ‘{ $stage }’: it is not ground yet.
which-batch = Choose the batch that it goes in.
not-away = Job { $job } is not away.
away-in-another = Job { $job } is away in batch { $batch }, not in this one.
stage = { $stage ->
    [booked-in] Booked in
    [measuring] Measuring
    [to-decide] To decide
    [at-the-grinder] At the grinder
    [at-treatment] At treatment
    [final-check] Final check
    [ready] Ready
   *[collected] Collected
}

# The final check and the signature.
archived-not-signed = The job is put away. Take it up again first.
nothing-decided = { $set-start }: nothing is decided yet.
given-up = { $set-start }: they were given up. A crank that is scrap is not signed off.
to-be-built-up = { $set-start }: they are to be built up. Decide a size for them when that is done.
at-treatment = It is away at treatment.
nobody-said = { $journal-start }: nobody said whether it cleaned up.
not-cleaned-up = { $journal-start } did not clean up.
spots-not-measured = { $count ->
    [one] 1 spot is not measured.
   *[other] { $count } spots are not measured.
}
spot = { $station ->
    [front] { $journal }, front, across { $across }
    [middle] { $journal }, middle, across { $across }
   *[rear] { $journal }, rear, across { $across }
}
too-old = { $why ->
    [sheet-replaced] taken under a sheet that was replaced
    [ground-again] taken before it was ground again
   *[treated-since] taken before it came back from treatment
}
reading-too-old = { $spot-start }: the reading was { $why }.
at-spot = { $spot-start }: { $says }
form-over = { $form ->
    [taper] { $journal-start }: { $found } tapered, over the { $limit } of the manual.
   *[out-of-round] { $journal-start }: { $found } out of round, over the { $limit } of the manual.
}
too-rough = { $journal-start }, { $at }: rougher than the manual allows, Ra { $found }, at most { $limit }.
eye-item = { $item ->
    [radius] radius
    [oilways-open] oil passages open
    [plugs-refitted] plugs refitted
    [crack-test] crack test
    [demagnetised] demagnetised
    [finish] finish
    [stamp] stamp
    [straightness] straightness
   *[other] { $text }
}
eye-not-answered = { $item-start }: not answered.
eye-not-passed = { $item-start }: not passed.
eye-must-be-done = { $item-start }: not done, and it must be.
signed-already = The job is signed off already.
not-said = Tick it to sign without: { $left-out }
handed-over-already = The crank was handed over already.
not-signed-off = The crank is not signed off, so it is not handed over.
nothing-signed = The job is not signed off.
why-reopened = Say why it is opened again.
ready-by-signing = A job is ready when its final check is signed, not by moving it.
collected-by-handing-over = A job is collected when the crank is handed over, not by moving it.

# Heads, where more than one thing stands against it, and where what is not done has to be said.
not-signed-one = Not signed. { $says }
not-signed-many = { $count ->
    [one] Not signed: 1 thing stands against it.
   *[other] Not signed: { $count } things stand against it.
}

# What to do.
do-measure = Measure it first.
do-look-again = Look at the verdict again in a moment.
do-after-a-crack = A crack is never answered with a reason. If it was reported by mistake, put that row right first.
do-put-right = Put it right under Measure or Particulars.
do-change-marked = Change what is marked, then save.
do-choose-with-reason = Choose what to do, and write the reason.
do-choose-of = There are: { $choices }.
do-write-reason = Choose a reason, or write it in a few words.
do-on-the-sheet = The sheet for the grinder carries it.
do-settle-at-verdict = Settle it at the verdict, or decide each set with a reason; a crack is never answered so.
do-to-final-check = Go on to the final check instead.
do-take-the-plan = Take the plan of the job as it is decided now.
do-issue-sheet = Issue the sheet for the grinder.
do-count-from-nose = Count the journals from the nose: main 1, pin 2.
do-out-of-archive = Take it up again first.
do-reason-there = Give the reason there.
do-take-back-first = Take it back, or out of that batch, first.
do-grind-first = Have it ground first.
do-open-batch = Open the batch first, where it is a new one.
do-look-at-history = Look at its history.
do-look-at-batch = Look at the code of the batch.
do-at-final-check = Put them right at the final check, then sign.
do-reopen = Reopen it with a reason first.
do-say-left-out = Say in the sentence that is signed what was left out.
do-undo-first = Undo that first if it is wrong.
do-finish-final-check = Finish the final check first.
do-go-on = There is nothing to reopen; go on.
do-next-revision = The next revision carries the reason.
do-finish-and-sign = Finish the final check, then sign.
do-sign-and-hand-over = Sign the final check, then hand it over.
