//! Every objection and every advice is said in every language, and nothing of it falls back.

use std::collections::BTreeSet;

use say::{Tongue, Words};
use units::Unit;

use super::*;
use crate::advice::Advice;
use crate::final_check::EYE_ITEMS;

const PIN: JournalId = JournalId { set: SetName::Pin, number: 2 };
const MAIN: JournalId = JournalId { set: SetName::Main, number: 3 };

const UNDECIDED: [Undecided; 8] = [
    Undecided::Heat,
    Undecided::Bend,
    Undecided::Readings,
    Undecided::BiggerThanNew,
    Undecided::TooClose,
    Undecided::TooLittle,
    Undecided::WearLimit,
    Undecided::TwoSizes,
];

/// One of each, and each of what it may be about.
fn samples() -> Vec<Objection> {
    use Objection as O;
    let typed = || "Pin and Sons".to_owned();
    let spot: Spot = "pin-2.rear.a".parse().unwrap();
    let other: Spot = "main-3.front.b".parse().unwrap();
    let size = |mm| Size::of_mm(mm, Unit::Inch, 4);
    let mut all = vec![
        O::NothingMeasured,
        O::ChanceNotKnown,
        O::Unreadable(typed()),
        O::CannotBe { found: typed(), expected: typed(), advice: typed() },
        O::NoReading(typed()),
        O::NoMicrometer(typed()),
        O::SetNotMeasured,
        O::NoDecision,
        O::NoSuchChoice,
        O::SayWhy,
        O::OwnWords,
        O::Doubtful(typed()),
        O::Stands(typed()),
        O::NothingToGrind,
        O::AnotherPlan,
        O::GrinderIsNext,
        O::NoSuchJournal,
        O::Archived(1001),
        O::SignedOff(1001),
        O::AwayAlready(1001, typed()),
        O::WhichBatch,
        O::NotAway(1001),
        O::AwayInAnother(1001, typed()),
        O::SignedAlready,
        O::NotSaid(typed()),
        O::HandedOver,
        O::NotSignedOff,
        O::NothingSigned,
        O::WhyReopened,
        O::ReadyBySigning,
        O::CollectedByHandingOver,
        O::ArchivedNotSigned,
        O::AtTreatment,
        O::NotMeasured(1),
        O::NotMeasured(36),
        O::AtSpot(other, typed()),
    ];
    for set in SetName::BOTH {
        all.extend(UNDECIDED.map(|why| O::LeftOpen(set, why)));
        all.extend([O::NotDecided(set), O::BuildUpBeforeGrinding(set), O::GivenUpNoSheet(set)]);
        all.extend([O::NothingDecided(set), O::GivenUp(set), O::ToBeBuiltUp(set)]);
    }
    for journal in [MAIN, PIN] {
        all.extend([O::Crack(journal), O::HasNo(journal), O::NobodySaid(journal), O::NotCleanedUp(journal)]);
        let rough = |at: &str| O::TooRough {
            journal,
            at: at.to_owned(),
            found: crank::show_ra(0.5, Unit::Inch),
            limit: crank::show_ra(0.254, Unit::Inch),
        };
        all.extend(["front", "middle", "rear", "0.300 in towards the rear"].map(rough));
        all.extend([true, false].map(|taper| O::Form { journal, taper, found: size(0.01), limit: size(0.0051) }));
    }
    all.extend(Stage::ALL.map(|stage| O::NotGround(1001, stage)));
    let old = [TooOld::SheetReplaced, TooOld::GroundAgain, TooOld::TreatedSince];
    all.extend(old.map(|why| O::TooOld(spot, why)));
    all.extend(EYE_ITEMS.iter().flat_map(|item| [O::NotAnswered(item), O::NotPassed(item), O::MustBeDone(item)]));
    all
}

fn advice() -> Vec<Advice> {
    use Advice as A;
    vec![
        A::Measure,
        A::LookAgain,
        A::AfterACrack,
        A::PutRight,
        A::ChangeMarked,
        A::ChooseWithReason,
        A::Choices(vec!["leave".to_owned(), "0.010".to_owned()]),
        A::WriteReason,
        A::OnTheSheet,
        A::SettleAtVerdict,
        A::ToFinalCheck,
        A::TakeThePlan,
        A::IssueSheet,
        A::CountFromNose,
        A::OutOfArchive,
        A::ReasonThere,
        A::TakeBackFirst,
        A::GrindFirst,
        A::OpenBatch,
        A::LookAtHistory,
        A::LookAtBatch,
        A::AtFinalCheck,
        A::Reopen,
        A::SayLeftOut,
        A::UndoFirst,
        A::FinishFinalCheck,
        A::GoOn,
        A::NextRevision,
        A::FinishAndSign,
        A::SignAndHandOver,
    ]
}

#[test]
fn everything_that_can_stand_against_something_is_said_in_every_language() {
    for tongue in Tongue::ALL {
        let words = Words::from(tongue);
        let mut said: BTreeSet<String> = BTreeSet::new();
        for objection in samples() {
            let says = words.strictly(&objection).unwrap_or_else(|faults| panic!("{objection:?}: {faults:?}"));
            assert!(says.len() > 8 && !says.contains('{'), "{tongue}, {objection:?}: {says}");
            // What is quoted alone, and each stage that a crank may be at, is not a sentence of its own.
            if !matches!(objection, Objection::Unreadable(_) | Objection::NoReading(_)) {
                assert!(said.insert(says.clone()), "{tongue} says two things alike: {says}");
            }
        }
        for advice in advice() {
            let says = words.strictly(&advice).unwrap_or_else(|faults| panic!("{advice:?}: {faults:?}"));
            assert!(says.ends_with('.'), "{tongue}, {advice:?}: {says}");
        }
    }
}

/// What was typed comes out letter for letter, also where it says pin to a shop that says rod journal.
#[test]
fn what_was_typed_is_not_touched() {
    for tongue in Tongue::ALL {
        for objection in samples().iter().filter(|objection| format!("{objection:?}").contains("Pin and Sons")) {
            assert!(Words::from(tongue).say(objection).contains("Pin and Sons"), "{tongue}: {objection:?}");
        }
    }
}

#[test]
fn one_objection_in_each_language() {
    let say = |objection: &Objection| Tongue::ALL.map(|tongue| Words::from(tongue).say(objection));
    assert_eq!(
        say(&Objection::NotCleanedUp(PIN)),
        [
            "Pin 2 did not clean up.",
            "Rod journal 2 did not clean up.",
            "Hubzapfen 2 ist beim Schleifen nicht sauber geworden.",
            "Muñequilla 2: no quedó limpia al rectificarla."
        ]
    );
    let form = Objection::Form {
        journal: MAIN,
        taper: false,
        found: Size::of_mm(0.0003 * 25.4, Unit::Inch, 4),
        limit: Size::of_mm(0.0001 * 25.4, Unit::Inch, 4),
    };
    assert_eq!(
        say(&form),
        [
            "Main 3: 0.0003 in out of round, over the 0.0001 in of the manual.",
            "Main 3: 0.0003 in out of round, over the 0.0001 in of the manual.",
            "Hauptlagerzapfen 3: Unrundheit 0,0003 in, mehr als die 0,0001 in im Werkstatthandbuch.",
            "Apoyo de bancada 3: ovalización 0,0003 in, más que 0,0001 in, el límite del manual de taller."
        ]
    );
    let rough = Objection::TooRough {
        journal: PIN,
        at: "middle".to_owned(),
        found: crank::show_ra(0.508, Unit::Inch),
        limit: crank::show_ra(0.254, Unit::Inch),
    };
    assert_eq!(
        say(&rough),
        [
            "Pin 2, middle: rougher than the manual allows, Ra 20 µin (0.508 µm), at most 10 µin (0.254 µm).",
            "Rod journal 2, middle: rougher than the manual allows, Ra 20 µin (0.508 µm), at most 10 µin (0.254 µm).",
            "Hubzapfen 2, Mitte: Mittenrauwert Ra 20 µin (0,508 µm), mehr als die 10 µin (0,254 µm) im Werkstatthandbuch.",
            "Muñequilla 2, centro: rugosidad Ra 20 µin (0,508 µm), más que 10 µin (0,254 µm), el límite del manual de taller."
        ]
    );
}
