//! Invented papers of an invented shop, from the smallest crank to the largest.
#![allow(dead_code, unreachable_pub, reason = "each test file uses its own part of these")]

use paper::Drawing;
use paper::documents::*;

pub fn about() -> AboutJob {
    AboutJob {
        shop: "Oxbow Engine Works".into(),
        number: "1042".into(),
        crank: "Tarn four, 1.5 litre".into(),
        customer: "Inge Varley".into(),
        mark: "C-0412".into(),
        example: false,
    }
}

fn journals(name: &str, count: usize) -> Vec<GrinderJournal> {
    (1..=count)
        .map(|n| GrinderJournal {
            name: format!("{name} {n}"),
            largest: format!("2.12{n:02}"),
            take_off: format!("0.00{n:02}"),
        })
        .collect()
}

pub fn grinder(mains: usize, pins: usize) -> GrinderSheet {
    let set = |name: &str, one: &str, count: usize, target: &str| GrinderSet {
        name: name.into(),
        choice: "0.010 in under".into(),
        grind_to: Some(target.into()),
        window: "2.1137–2.1142".into(),
        other_unit: "≈ 53.695 mm".into(),
        finished: "Finished 2.1145–2.1150 in (≈ 53.708–53.721 mm).".into(),
        overruled: String::new(),
        says: vec![
            "mic 2-3 (0.0001 low) shows 2.1136–2.1141.".into(),
            "■ A very fine window: see Window below.".into(),
        ],
        stages: vec![
            GrinderStage {
                name: "Rough".into(),
                target: "2.1180".into(),
                window: "2.1178–2.1182".into(),
                as_read: String::new(),
            },
            GrinderStage {
                name: "Grind".into(),
                target: target.into(),
                window: "2.1137–2.1142".into(),
                as_read: String::new(),
            },
            GrinderStage {
                name: "Before treatment".into(),
                target: "2.1142".into(),
                window: "2.1140–2.1144".into(),
                as_read: String::new(),
            },
            GrinderStage {
                name: "Finished".into(),
                target: "2.1147".into(),
                window: "2.1145–2.1150".into(),
                as_read: String::new(),
            },
        ],
        journals: journals(one, count),
    };
    GrinderSheet {
        about: about(),
        headline: None,
        stops: Vec::new(),
        code: "K7Q".into(),
        number: 2,
        replaces: Some("M4P".into()),
        issued_by: "Jo Wren".into(),
        issued: "2026-05-04 14:20".into(),
        measured_by: "Sam Holt".into(),
        unit: "inches, on the diameter".into(),
        sets: vec![set("Mains", "Main", mains, "2.1140"), set("Pins", "Pin", pins, "1.85445")],
        offsets: Vec::new(),
        found: vec![
            ("Decides the mains".into(), "Main 3, rear, across B, with its run-out".into()),
            ("Decides the pins".into(), "Pin 2, front, across A, with its damage".into()),
            ("Main 3".into(), "runs out 0.0014 in, high less low, high at 80° from the first throw".into()),
            ("Pin 2".into(), "scoring 0.0010 to 0.0030 in deep, likeliest 0.0020, over its whole length, all round".into()),
        ],
        notes: vec![
            (
                "Windows".into(),
                "0.00010 in wide, finer than a micrometer that is good to about 0.00016 in either way, and than the \
                 0.00020 in that a crank grinder commonly holds: measure cold, and more than once"
                    .into(),
            ),
            (
                "Throw".into(),
                "1.5000 in, half the stroke, within 0.0020 in; pins in order at 0, 180, 180, 0°, within 0.25°".into(),
            ),
            ("Mains".into(), "radius 0.090–0.110 in".into()),
            ("Pins".into(), "radius 0.100–0.120 in".into()),
            (
                "Both sets".into(),
                "out of round at most 0.0005 in; taper at most 0.0005 in; roughness at most 0.25 micron (10 microinch); \
                 last ground to standard"
                    .into(),
            ),
            ("Index from".into(), "the keyway or dowel; grind about the present main axis".into()),
            ("Thrust".into(), "end float 0.004–0.008 in. Keep the wheel off the thrust faces unless told".into()),
            ("Treatment".into(), "nitriding after grinding; the sizes allow 0.0005 in for growth; case depth by the book: 0.018–0.026 in".into()),
            ("Oil holes".into(), "plug or cover them; round their mouths again when the size is there".into()),
        ],
        changed: Vec::new(),
    }
}

pub fn report(mains: usize, pins: usize) -> CustomersReport {
    let set = |name: &str, one: &str, count: usize| ReportSet {
        name: name.into(),
        rows: (1..=count)
            .map(|n| [format!("{one} {n}"), format!("2.12{n:02}"), "2.1245–2.1250".into(), "worn".into()])
            .collect(),
    };
    CustomersReport {
        about: about(),
        outcome: "Your crank can be used again.".into(),
        first: None,
        work_head: "What will be done".into(),
        why: vec![
            "The mains are worn below what the maker allows. Ground to 0.010 in under they very likely clean up, 97 in 100.".into(),
            "The pins are scored. Ground to 0.020 in under they almost certainly clean up, more than 99 in 100.".into(),
            "What decides it is pin 2 at its front end.".into(),
        ],
        work: vec!["Both sets are ground, the crank is nitrided and polished, and every size is measured again.".into(), "The likely bill is £286.".into()],
        sets: vec![set("Mains", "Main", mains), set("Pins", "Pin", pins)],
        axes: vec![Drawing::new(150.0, 20.0, "A drawing"); 2],
        narrow_axes: vec![Drawing::new(85.0, 20.0, "A drawing"); 2],
        crank: Some(Drawing::new(150.0, 30.0, "A crank")),
        not_checked: vec!["We did not test for cracks.".into(), "We did not check that it is straight.".into()],
        method: vec!["Every journal was measured at two places and in two directions with a micrometer that reads 0.0001 in.".into()],
        meanings: vec!["A journal is a round part that turns in a bearing; a shell is the thin bearing it turns in.".into()],
        by: "Sam Holt".into(),
        date: "2026-05-04".into(),
    }
}

pub fn record(mains: usize, pins: usize) -> InspectionRecord {
    let spots = ["front, across A", "front, across B", "rear, across A", "rear, across B"];
    let rows = (1..=mains + pins)
        .flat_map(|n| {
            spots.map(|spot| {
                vec![
                    format!("Journal {n}"),
                    spot.into(),
                    "2.1234".into(),
                    "2.1234".into(),
                    "mic 2-3".into(),
                    "Sam Holt, 14:02".into(),
                ]
            })
        })
        .collect();
    InspectionRecord {
        about: about(),
        unit: "inches".into(),
        verdicts: vec!["Mains: grind to 0.010 in under, very likely to clean up, 97 in 100.".into()],
        notes: vec!["Pin 2 is scored, 0.002 to 0.004 in deep.".into()],
        drawings: Vec::new(),
        tables: vec![RecordTable {
            title: "Every reading".into(),
            columns: vec![
                ("Journal".into(), false, 1.0),
                ("Spot".into(), false, 1.4),
                ("As read".into(), true, 0.8),
                ("Corrected".into(), true, 0.8),
                ("Micrometer".into(), false, 1.0),
                ("By".into(), false, 1.2),
            ],
            rows,
        }],
        method: vec!["Chances from 20000 draws (seed 1).".into()],
        working: vec!["Main 1: mean 2.12350, limits 2.1245 to 2.1250.".into()],
        budgets: vec!["mic 2-3: feel 0.00005, graduation 0.00003, scale 0.00006; together 0.00008 in.".into()],
        by: "Sam Holt".into(),
        date: "2026-05-04".into(),
    }
}

pub fn certificate(mains: usize, pins: usize) -> Certificate {
    let set = |name: &str, one: &str, count: usize| CertificateSet {
        name: format!("{name}, 0.010 in under"),
        limits: "2.1145–2.1150".into(),
        form: "out of round 0.0005 at most; taper 0.0005 at most".into(),
        rows: (1..=count)
            .map(|n| CertificateRow {
                journal: format!("{one} {n}"),
                before: ["2.1234–2.1241", "0.0006", "0.0004"].map(str::to_owned),
                after: ["2.1146–2.1148", "0.0001", "0.0002"].map(str::to_owned),
                state: "inside".into(),
            })
            .collect(),
    };
    Certificate {
        about: about(),
        sentence: "I measured these 36 spots after grinding, and all are inside the sizes on sheet K7Q.".into(),
        signed_by: "Sam Holt".into(),
        signed: "2026-05-09 09:12".into(),
        revision: "1".into(),
        mark: "7KQ2-M4PX-9TRA".into(),
        code: "K7Q".into(),
        open: Vec::new(),
        sets: vec![set("Mains", "Main", mains), set("Pins", "Pin", pins)],
        drawings: vec![Drawing::new(150.0, 30.0, "A drawing")],
        trust: vec!["Sizes after are good to ± 0.00012 in, out of round and taper to ± 0.00016 in.".into()],
        treatments: vec!["Nitriding, batch N-31. Growth found: 0.0005 in on average over 3 journals.".into()],
        roughness: vec![
            "Mains, at most Ra 10 µin (0.254 µm) by the book. Main 3, middle, Ra 6 µin (0.152 µm): within.".into(),
        ],
        eyes: vec!["Radius: passed".into(), "Crack test: passed, by Hollin Testing".into()],
        left_out: vec!["Straightness was not checked.".into()],
        cautions: vec![
            "Clean every oilway again before the crank is fitted, and build it by the maker’s manual.".into(),
        ],
        unit: "inches".into(),
    }
}

pub fn form(mains: usize, pins: usize) -> MeasuringForm {
    let spots: Vec<String> = ["Front A", "Front B", "Rear A", "Rear B"].map(String::from).to_vec();
    let names = |one: &str, count: usize| (1..=count).map(|n| format!("{one} {n}")).collect::<Vec<_>>();
    let pass = |title: &str, one: &str, count: usize| {
        FormPass {
        title: title.into(),
        limits: "By the manual: standard 2.1245 to 2.1250 in; out-of-round at most 0.0005 in; undersizes 0.010, 0.020, 0.030 \
                 in."
            .into(),
        spots: spots.clone(),
        journals: names(one, count),
        worn_side: Some("inner is the side towards the crank’s axis, outer the side away from it".into()),
    }
    };
    MeasuringForm {
        about: about(),
        order: "Journal by journal, from the nose; A is in line with the throw, B square to it.".into(),
        micrometers: vec!["mic 2-3, reads 0.0001 in".into(), "mic 1-2, reads 0.0001 in".into()],
        sets: vec!["Mains".into(), "Pins".into()],
        passes: vec![pass("Mains", "Main", mains), pass("Pins", "Pin", pins)],
        mains: names("Main", mains),
        limits: FormLimits {
            run_out: "The manual allows 0.0020 in.".into(),
            radii: "By the manual: mains 0.110–0.130 in, pins 0.110–0.130 in.".into(),
            float: "End float by the manual: 0.0040–0.0110 in.".into(),
        },
        drawing: None,
    }
}

pub fn label() -> BoxLabel {
    BoxLabel {
        about: about(),
        never: None,
        sets: vec![
            LabelSet { name: "Mains".into(), undersize: "0.010 in under".into(), range: "2.1145–2.1150 in".into() },
            LabelSet { name: "Pins".into(), undersize: "0.020 in under".into(), range: "1.8545–1.8550 in".into() },
        ],
        stamp: "MAINS 0.010, PINS 0.020".into(),
        state: "Signed off 2026-05-09".into(),
        code: "K7Q".into(),
        advice: "Keep it oiled, upright on its flange or on two blocks.".into(),
    }
}

pub fn batch() -> BatchSlip {
    let row = |job: &str, crank: &str| BatchRow {
        job: job.into(),
        mark: "C-0412".into(),
        crank: crank.into(),
        process: "Nitriding, growth allowed 0.0005 in; case depth wanted: 0.018–0.026 in.".into(),
        unit: "in".into(),
        sizes: ["Main 1", "Main 2", "Pin 1"]
            .map(|journal| BatchSize {
                journal: journal.into(),
                place: "middle, A".into(),
                before: "2.1142".into(),
                after: String::new(),
            })
            .into(),
    };
    BatchSlip {
        shop: "Oxbow Engine Works".into(),
        batch: "N-17".into(),
        process: "Nitriding".into(),
        facts: vec![("Growth allowed for".into(), "0.0005 in on the diameter".into())],
        rows: vec![row("1042", "Tarn four, 1.5 litre"), row("1043", "Skelder six")],
        cautions: vec!["Cyanide and ammonia processes: licensed practice only.".into()],
        example: false,
    }
}
