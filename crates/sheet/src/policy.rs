//! How the shop works, where a sheet says so.

use document::Problems;
use fit::{Costs, Item};
use regrind::{Axis, IndexDatum, Policy, PolishWhen, Prices, SetPrices};
use units::Unit;

use crate::table::{Field, Table, spelt};

/// Stocks from here up are slips of the point: 0.1 in.
const STOCK_BELOW_MM: f64 = 2.54;
/// More draws than anybody would wait for.
const MOST_DRAWS: u64 = 10_000_000;
/// More operations and parts than any quotation lists.
const MOST_ITEMS: usize = 100;

/// The policy of a sheet; `undersizes` are how many there are for mains and pins, where that is known.
pub(crate) fn policy(
    root: &mut Table<'_>,
    unit: Unit,
    undersizes: [Option<usize>; 2],
    problems: &mut Problems,
) -> (Policy, Costs) {
    let mut policy = Policy::usual(unit);
    let mut costs = Costs::default();
    if let Some(table) = root.take("policy").and_then(|f| f.table(problems)) {
        rules(table, unit, &mut policy, problems);
    }
    policy.assumed = crate::assumed::assumed(root, unit, problems);
    policy.prices = root.take("prices").and_then(|f| prices(&f, undersizes, &mut costs, problems));
    (policy, costs)
}

fn rules(mut table: Table<'_>, unit: Unit, policy: &mut Policy, problems: &mut Problems) {
    for (key, value) in [
        ("confidence", &mut policy.confidence),
        ("within_at", &mut policy.within_at),
        ("outside_at", &mut policy.outside_at),
    ] {
        let advice = "write nine in ten as 0.9";
        let field = table.take(key);
        if let Some(chance) =
            field.and_then(|f| f.number(|c| c > 0.0 && c < 1.0, "a chance between 0 and 1", advice, problems))
        {
            *value = chance;
        }
    }
    if policy.outside_at >= policy.within_at {
        let found = format!("outside_at {} and within_at {}", policy.outside_at, policy.within_at);
        let key = table.named("outside_at");
        problems.add(table.place(), key, found, "outside_at below within_at", "swap the two");
    }
    for (key, value) in [
        ("clean_up_stock", &mut policy.clean_up_stock_mm),
        ("set_up_error", &mut policy.set_up_error_mm),
        ("polish_stock", &mut policy.polish_stock_mm),
        ("finish_stock", &mut policy.finish_stock_mm),
        ("grinding_spread", &mut policy.grinding_spread_mm),
    ] {
        let Some(field) = table.take(key) else { continue };
        let holds = |mm: f64| (0.0..STOCK_BELOW_MM).contains(&mm);
        let expected = match unit {
            Unit::Inch => "0 or more, below 0.1 in",
            Unit::Millimetre => "0 or more, below 2.54 mm",
        };
        let advice = format!("look at the point; a bare number is in {}", spelt(unit));
        if let Some(entry) = field.length_where(unit, holds, expected, &advice, problems) {
            *value = entry.mm;
        }
    }
    if let Some(field) = table.take("axis") {
        axis(&field, policy, problems);
    }
    let step = table.take("size_step").and_then(|f| {
        let expected = format!("a small length above 0, in {}", spelt(unit));
        f.length_where(unit, |mm| (1e-5..STOCK_BELOW_MM).contains(&mm), &expected, "look at the point", problems)
    });
    policy.size_step_mm = step.map_or(policy.size_step_mm, |entry| entry.mm);
    let words = [("fixed", IndexDatum::Fixed), ("free", IndexDatum::Free)];
    let word = table.take("index_datum").and_then(|f| f.word(&words, problems));
    policy.index_datum = word.unwrap_or(policy.index_datum);
    let words = [("before treatment", PolishWhen::BeforeTreatment), ("after treatment", PolishWhen::AfterTreatment)];
    let word = table.take("polish").and_then(|f| f.word(&words, problems));
    policy.polish = word.unwrap_or(policy.polish);
    let draws = table.take("draws").and_then(|f| f.whole(1, MOST_DRAWS, problems));
    policy.draws = draws.and_then(|n| usize::try_from(n).ok()).unwrap_or(policy.draws);
    policy.seed = table.take("seed").and_then(|f| f.whole(0, u64::MAX, problems)).unwrap_or(policy.seed);
    policy.build_up = table.take("build_up").and_then(|f| f.truth(problems)).unwrap_or(policy.build_up);
    table.finish(problems);
}

/// One way, or a list of those that the shop allows.
fn axis(field: &Field<'_>, policy: &mut Policy, problems: &mut Problems) {
    let words = Axis::ALL.map(|axis| (axis.word(), axis));
    if !matches!(field.node.value, document::Value::List(_)) {
        policy.axis = field.word(&words, problems).unwrap_or(policy.axis);
        return;
    }
    let expected = "ways to grind on, \"held\" among them";
    let Some(items) = field.list(expected, problems) else { return };
    let ways: Vec<Axis> = items.iter().filter_map(|f| f.word(&words, problems)).collect();
    if ways.len() < items.len() {
        return;
    }
    if !ways.contains(&Axis::Held) {
        field.refuse(problems, expected, "a crank that cleans up where it turns now is never moved: add \"held\"");
        return;
    }
    policy.axis = Axis::ALL.into_iter().rfind(|way| ways.contains(way)).unwrap_or(policy.axis);
    policy.throws_first = ways.contains(&Axis::Throws);
}

fn prices(
    field: &Field<'_>,
    undersizes: [Option<usize>; 2],
    costs: &mut Costs,
    problems: &mut Problems,
) -> Option<Prices> {
    let mut table = field.table(problems)?;
    for (key, value) in
        [("washer", &mut costs.washer), ("polish", &mut costs.polish), ("treatment", &mut costs.treatment)]
    {
        *value = table.take(key).and_then(|f| price(&f, problems));
    }
    if let Some(field) = table.take("item") {
        let rows = field.rows(problems);
        if rows.len() > MOST_ITEMS {
            field.refuse(problems, format!("at most {MOST_ITEMS} items"), "put what belongs together into one");
        } else {
            costs.items = rows.into_iter().filter_map(|row| item(row, problems)).collect();
        }
    }
    let [main, pin] = [("main", undersizes[0]), ("pin", undersizes[1])].map(|(key, count)| {
        let example = format!("[prices.{key}] with pass, shells and scrap");
        let field = table.need(key, "the prices of the set", &example, problems);
        field.and_then(|f| f.table(problems)).map(|inner| set_prices(inner, count, problems))
    });
    table.finish(problems);
    Some(Prices { main: main?, pin: pin? })
}

/// An operation or a part that every crank needs.
fn item(mut row: Table<'_>, problems: &mut Problems) -> Option<Item> {
    let what = row.need("what", "what is charged", "what = \"crack test\"", problems);
    let what = what.and_then(|f| f.text(problems)).map(str::to_owned);
    let each = row.need("price", "the price of one", "price = 35", problems).and_then(|f| price(&f, problems));
    let count = row.take("count").map_or(Some(1), |f| f.whole(1, 1000, problems));
    row.finish(problems);
    Some(Item { what: what?, count: u32::try_from(count?).ok()?, each: each? })
}

fn price(field: &Field<'_>, problems: &mut Problems) -> Option<f64> {
    let holds = |price: f64| (0.0..=1e9).contains(&price);
    field.number(holds, "a price of 0 or more", "write it without a currency sign", problems)
}

fn set_prices(mut table: Table<'_>, count: Option<usize>, problems: &mut Problems) -> SetPrices {
    let mut needed = |key, expected, example| {
        let field = table.need(key, expected, example, problems)?;
        price(&field, problems)
    };
    let pass = needed("pass", "the price of one pass over the set", "pass = 90");
    let scrap = needed("scrap", "what is lost when no undersize cleans up", "scrap = 250");
    let life = table.take("life").and_then(|f| price(&f, problems));
    let shells = table.need("shells", "the price of the shells", "shells = 40", problems).map(|field| {
        let items = field.items();
        let listed = matches!(field.node.value, document::Value::List(_));
        if let Some(count) = count.filter(|count| listed && *count != items.len()) {
            let advice = "list one price for each undersize, or write one number for all";
            field.refuse(problems, format!("{count} prices, one for each undersize"), advice);
        }
        items.iter().filter_map(|f| price(f, problems)).collect()
    });
    table.finish(problems);
    SetPrices {
        pass: pass.unwrap_or_default(),
        shells: shells.unwrap_or_default(),
        life: life.unwrap_or_default(),
        scrap: scrap.unwrap_or_default(),
    }
}
