//! Nothing that was written down is missing on the record.

use std::sync::Arc;

use job::JobCard;
use shop::{KINDS, Value, fold_shop};

use super::LISTS;
use crate::papers::Papers;

const WORN: &str = include_str!("../../../../tenunder/library/tarn-four-worn.toml");
const TARN: &str = include_str!("../../../../tenunder/library/tarn-four.toml");

/// A row of every kind, with every key that docs/sheet.md knows of it. Each value stands once in all of it, so that one that
/// is found on paper is found where it was written.
const ROWS: [(&str, &str); 16] = [
    ("reading", r#"[{"journal":"pin 1","at":"middle","plane":31,"size":[1.8711,1.8712],"with":"mic a"}]"#),
    ("run_out", r#"[{"journal":"main 2","total":0.0013,"high":47,"with":"mic b"}]"#),
    (
        "trace",
        r#"[{"journal":"pin 1","at":0.0617,"size":1.8714,"start":17,"departures":[0.00011,-0.00012,0.00013],
             "with":"mic c","size_with":"mic d"},
            {"journal":"pin 2","at":"rear","size":1.8715,"angles":[3,121,243],"departures":[0.00014,0.00015,0.00016]}]"#,
    ),
    ("centre", r#"[{"journal":"pin 3","throw":0.00171,"index":0.0181,"with":"mic e"}]"#),
    (
        "damage",
        r#"[{"journal":"pin 4","kind":"pitting","depth":[0.0021,0.0022,0.0023],"at":"front","from":81,"to":132}]"#,
    ),
    ("worn", r#"[{"journal":"pin 1","share":0.617},{"journal":"pin 2","how":"one-sided"}]"#),
    ("stamped", r#"[{"set":"main","undersize":"0.0102"},{"journal":"pin 4","undersize":"0.0203"}]"#),
    (
        "housing",
        r#"[{"journal":"main 1","at":0.0618,"plane":"across","size":2.2751,"with":"gauge a"},
            {"journal":"main 2","plane":"along","size":2.1252,"shells":"in","undersize":0.0104}]"#,
    ),
    (
        "shell",
        r#"[{"set":"main","name":"batch K","half":"upper","undersize":0.0105,"wall":[0.0711,0.0712],"count":3,
             "with":"gauge b"}]"#,
    ),
    ("bearing", r#"[{"journal":"pin 1","crush":0.0031,"width":0.9481,"rods":[0.9401,0.9402],"with":"gauge c"}]"#),
    (
        "thrust",
        r#"[{"journal":"main 3","width":1.2445,"housing":1.0501,"front":0.0931,"rear":0.0932,"front_oversize":0.0051,
             "rear_oversize":0.0052,"float":0.0081,"with":"gauge d","housing_with":"gauge e","washers_with":"gauge f"}]"#,
    ),
    (
        "roughness",
        r#"[{"journal":"pin 3","at":"rear","ra":"11.9 µin","error_limit":"0.91 µin","lay":"crossed","with":"gauge h",
             "cutoff":"0.83 mm"},
            {"journal":"pin 3","at":0.0619,"ra":"0.31 µm","lay":"along","when":"after"}]"#,
    ),
    (
        "dial",
        r#"[{"journal":"main 4","readings":[0.00017,-0.00018,0.00019,0.00026],"angles":[4,93,183,274],"with":"gauge i"}]"#,
    ),
    (
        "height",
        r#"[{"journal":"pin 2","angles":[2,123,244],"heights":[8.6241,8.6243,7.1084],"doubt":0.00031},
            {"journal":"pin 3","top":8.6251,"bottom":7.1252}]"#,
    ),
    ("feature", r#"[{"name":"flange","total":0.0014,"high":203,"face_total":0.0019}]"#),
    ("case", r#"[{"set":"pin","depth":0.0313,"doubt":0.0024}]"#),
];

/// Everything that stands in a value as it would be typed.
fn typed(value: &Value, all: &mut Vec<String>) {
    match value {
        Value::Table(pairs) => pairs.iter().for_each(|(_, value)| typed(value, all)),
        Value::List(items) => items.iter().for_each(|item| typed(item, all)),
        one => all.push(one.as_typed().unwrap_or_default().to_owned()),
    }
}

#[test]
fn whatever_a_row_says_stands_on_the_record() {
    let mut sheet = Value::from_text(WORN).unwrap();
    sheet.set("specification", Value::from_text(TARN).unwrap());
    let shop = fold_shop(&[]);
    let judged = Arc::new(JobCard::of_sheet(sheet.clone()).unwrap().to_judge().judge(&|_| ()));
    // What is listed does not depend on whether it can be judged: the verdict is that of the sheet without these rows.
    for (key, rows) in ROWS {
        sheet.set(key, Value::from_json(rows).unwrap());
    }
    let card = JobCard::of_sheet(sheet).unwrap();
    let record = Papers { judged: Some(judged), ..Papers::at_hand(&card, &shop) }.record().unwrap();
    for (key, rows) in ROWS {
        let lists: Vec<&str> = LISTS.iter().filter(|list| list.keys.contains(&key)).map(|list| list.title).collect();
        let tables = record.tables.iter().filter(|table| lists.contains(&table.title.as_str()));
        let cells: Vec<&String> = tables.flat_map(|table| &table.rows).flatten().collect();
        let mut all = Vec::new();
        typed(&Value::from_json(rows).unwrap(), &mut all);
        for said in all.iter().map(|said| said.to_lowercase()) {
            let there = |cell: &&String| cell.to_lowercase().split(", ").any(|part| part.trim_end_matches('s') == said);
            let whole = cells.iter().any(|cell| cell.to_lowercase() == said) || cells.iter().any(there);
            assert!(whole, "{said} of a {key} is not among {cells:?}");
        }
    }
}

#[test]
fn every_kind_of_row_has_its_list() {
    for kind in KINDS.iter().filter(|kind| kind.row.is_some()) {
        assert!(LISTS.iter().any(|list| list.keys.contains(&kind.name)), "{} is printed nowhere", kind.name);
        assert!(ROWS.iter().any(|(key, _)| *key == kind.name), "{} is looked for nowhere", kind.name);
        // Its micrometers are named with it.
        for with in kind.row.iter().flat_map(|row| row.micrometers) {
            let named = LISTS.iter().filter(|list| list.keys.contains(&kind.name));
            let mut named = named.flat_map(|list| list.fields).filter(|field| field.key == *with);
            assert!(named.next().is_some() || ["worn", "stamped"].contains(&kind.name), "{}: {with}", kind.name);
        }
    }
}
