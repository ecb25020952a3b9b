//! The verdict so far, beside the measuring: a panel that grows reading by reading.
//!
//! It stands by itself at `/jobs/{n}/so-far` and inside other pages: render it there with
//! `{{ so_far.render()?|safe }}`. Its root is `<div id="so-far">`; while something is being worked out the root carries
//! `data-working`, and whoever shows it may fetch `data-from` again and put the new root in the place of the old.

use askama::Template;
use crank::SetName;

use crate::judged::Judgement;
use crate::ladder::{Found, Ladder, Leads, Manner, Rung, Says, Tally, Weight, waiting};
use crate::wording::{OldWay, count};
use job::JobCard;

/// The rungs that the panel shows of a ladder.
const RUNGS: usize = 3;

/// The verdict so far.
#[derive(Clone, Debug, Template)]
#[template(path = "so_far.html")]
pub(crate) struct SoFar {
    job: i64,
    sets: Vec<Part>,
    waits: Option<String>,
    /// What must be seen before anything else: cracks, a bent shaft, doubtful readings.
    pressing: Vec<Says>,
    working: Option<Working>,
    /// Why there is no verdict, where the sheet cannot be judged.
    problems: Vec<String>,
}

/// Figures are being worked out.
#[derive(Clone, Debug)]
pub(crate) struct Working {
    /// In 100.
    pub(crate) done: usize,
    /// What the figures shown rest on: `from 34 readings`; nothing where there are none.
    pub(crate) from: String,
}

impl Working {
    /// What is being worked out, if anything.
    pub(crate) fn of(judgement: &Judgement) -> Option<Working> {
        let Judgement::Working { done, old } = judgement else { return None };
        let from = old.as_ref().map_or(String::new(), |old| format!("from {}", count(old.readings, "reading")));
        Some(Working { done: *done, from })
    }
}

/// One set in the panel.
#[derive(Clone, Debug)]
enum Part {
    /// Nothing can be said yet.
    Waits { heading: String, says: String },
    /// The ladder, cut down to what matters.
    Stands {
        set: SetName,
        heading: String,
        unseen: Option<String>,
        complete: bool,
        rungs: Vec<Rung>,
        decides: Option<Leads>,
        says: Vec<Says>,
        tally: String,
    },
}

impl SoFar {
    /// The panel for a job and what is known of its verdict.
    pub(crate) fn of(held: &JobCard, judgement: &Judgement, manner: &Manner) -> SoFar {
        let job = &held.job;
        let mut panel = SoFar {
            job: job.number,
            sets: Vec::new(),
            waits: waiting(job),
            pressing: Vec::new(),
            working: Working::of(judgement),
            problems: Vec::new(),
        };
        let Ok(book) = &held.book else { return panel };
        let spots = manner.walk.spots(book);
        let judged = judgement.latest().map(|(judged, _)| &judged.answer);
        if let Some(Err(problems)) = judged {
            panel.problems = problems.iter().map(ToString::to_string).collect();
        }
        let answer = judged.and_then(|answer| answer.as_ref().ok());
        if let Some((_, verdict)) = answer {
            let pressing = verdict.notes.iter().filter(|note| note.stops());
            panel.pressing =
                pressing.map(|note| Says { weight: Weight::Stop, words: manner.words.put(&note.says) }).collect();
        }
        for set in SetName::BOTH {
            let tally = Tally::of(job, &spots, set);
            let ladder = answer.and_then(|(sheet, verdict)| {
                let found = Found { job, sheet, verdict, manner };
                let of_set = verdict.sets.iter().find(|known| known.set == set)?;
                tally.started.then(|| found.ladder(of_set, tally))
            });
            panel.sets.push(match ladder {
                Some(ladder) => Part::of(ladder),
                None => Part::waits(set, tally, manner, panel.working.is_some()),
            });
        }
        panel
    }
}

impl Part {
    fn waits(set: SetName, tally: Tally, manner: &Manner, working: bool) -> Part {
        let name = manner.words.set(set);
        let (heading, says) = match tally {
            Tally { started: true, .. } if working => {
                (format!("{name}: {}", tally.words()), "Working out the chance …".to_owned())
            }
            Tally { taken: 0, each, .. } => (
                format!("{name}: not measured yet"),
                format!("The verdict starts after the first full journal: {}.", count(each, "reading")),
            ),
            Tally { each, .. } => (
                format!("{name}: {}", tally.words()),
                format!("The verdict starts after the first full journal: {}.", count(each, "reading")),
            ),
        };
        Part::Waits { heading, says }
    }

    fn of(ladder: Ladder) -> Part {
        let chosen = ladder.rungs.iter().position(|rung| rung.chosen).unwrap_or(0);
        // What arithmetic forbids is said on the page of the verdict; here it would only crowd out what can be done.
        let can = |rung: &&Rung| rung.chance.is_some() || rung.chosen || !rung.is_size;
        let before = ladder.rungs.iter().take(chosen).filter(can).count();
        let all = ladder.rungs.iter().filter(can).count();
        let from = before.saturating_sub(1).min(all.saturating_sub(RUNGS));
        let rungs = ladder.rungs.iter().filter(can).skip(from).take(RUNGS).cloned().collect();
        Part::Stands {
            set: ladder.set,
            heading: ladder.heading,
            unseen: ladder.unseen,
            complete: ladder.tally.is_complete(),
            rungs,
            decides: ladder.decides.into_iter().next(),
            says: ladder.says.into_iter().filter(|says| says.weight != Weight::Plain).collect(),
            tally: if ladder.tally.is_complete() {
                format!("All {}", count(ladder.tally.all, "reading"))
            } else {
                format!("{} so far", ladder.tally.words())
            },
        }
    }
}
