//! What a quotation charges, by hand from the prices and chances below.

use crank::{GroundTo, SetName, Treatment};
use fit::{Asked, Costs, Item, Quote, quote, ways};
use regrind::{Chance, Choice, Policy, Prices, SetPrices, SetVerdict, StepVerdict, Verdict};
use units::Unit;

/// Standard, 0.010 and 0.020 in under, with these chances in a hundred.
fn set(set: SetName, choice: Choice, chances: [usize; 3]) -> SetVerdict {
    let steps = [0.0, 0.254, 0.508].into_iter().zip(chances).map(|(undersize_mm, hits)| StepVerdict {
        undersize_mm,
        ground_size_mm: 50.0 - undersize_mm,
        chance: Chance { hits, draws: 100 },
        chance_as_measured: Chance { hits, draws: 100 },
        spare_mm: 0.0,
        spare_after_stock_mm: 0.0,
        middle_spare_mm: 0.0,
        permitted: true,
        set_up: None,
        way: regrind::Axis::Held,
        expected_cost: None,
    });
    let ground_to = GroundTo { undersize_mm: 0.0, also: Vec::new(), bigger_than_new: false };
    SetVerdict { steps: steps.collect(), ..SetVerdict::decided(set, ground_to, choice) }
}

fn grind(undersize_mm: f64) -> Choice {
    Choice::Grind { undersize_mm }
}

fn of(sets: Vec<SetVerdict>, costs: &Costs, treatment: &Treatment) -> Quote {
    let prices = |pass: f64| SetPrices { pass, shells: vec![40.0, 60.0], life: 15.0, scrap: 250.0 };
    let policy =
        Policy { prices: Some(Prices { main: prices(90.0), pin: prices(120.0) }), ..Policy::usual(Unit::Inch) };
    let verdict = Verdict::of_sets(sets);
    quote(Asked { verdict: &verdict, fit: None, policy: &policy, costs, treatment, unit: Unit::Inch })
}

fn treatment(kind: &str) -> Treatment {
    Treatment { kind: kind.into(), growth_mean_mm: 0.0127, growth_sd_mm: 0.00254, after_grinding: kind != "none" }
}

fn both() -> Vec<SetVerdict> {
    vec![set(SetName::Main, grind(0.254), [0, 100, 100]), set(SetName::Pin, grind(0.254), [0, 80, 90])]
}

/// By hand: mains 90 + 40. Pins 120 + 40, and in 20 of 100 cases another pass, 120 × 0.20 = 24; then 10 of 100 end with the
/// deeper shells and 10 of 100 with none, 0.10 × 60 + 0.10 × 250 - 0.20 × 40 = 23; 47 together. A used-up size is worth
/// 15 to the owner, which nobody is charged.
#[test]
fn what_a_size_used_up_is_worth_is_not_charged() {
    let quote = of(both(), &Costs::default(), &treatment("none"));
    let amounts: Vec<f64> = quote.lines.iter().map(|line| line.amount()).collect();
    assert_eq!(amounts, [90.0, 40.0, 120.0, 40.0]);
    assert_eq!(quote.total(), 290.0);
    assert_eq!(quote.again.iter().map(|(_, money)| *money).collect::<Vec<_>>(), [47.0]);
    assert_eq!(quote.likely(), 337.0);
    assert_eq!(quote.not_priced, Vec::<String>::new());
    let weighed = &quote.ways[1].ways[0];
    assert_eq!(weighed.undersize_mm, 0.254);
    assert!((weighed.charged - 207.0).abs() < 1e-9, "{weighed:?}");
    // Worth: 80 of 100 end one step down, 10 of 100 two steps down.
    assert!((weighed.bill.total() - weighed.charged - (0.8 * 15.0 + 0.1 * 30.0)).abs() < 1e-9, "{weighed:?}");
}

#[test]
fn the_treatment_after_grinding_has_a_price_or_is_named_as_having_none() {
    let nitriding = treatment("nitriding");
    let none = of(both(), &Costs::default(), &nitriding);
    assert_eq!(none.not_priced, ["nitriding after grinding"]);
    let priced = of(both(), &Costs { treatment: Some(80.0), ..Costs::default() }, &nitriding);
    assert_eq!((priced.total(), priced.not_priced.len()), (370.0, 0));
    let item = Item { what: "Nitriding, whole crank".into(), count: 1, each: 85.0 };
    let as_item = of(both(), &Costs { items: vec![item], ..Costs::default() }, &nitriding);
    assert_eq!((as_item.total(), as_item.not_priced.len()), (375.0, 0));
    let asked = Treatment { after_grinding: false, ..nitriding.clone() };
    let perhaps = of(both(), &Costs::default(), &asked).not_priced;
    assert_eq!(perhaps, ["nitriding after grinding, should the crank need it again"]);
    let left = vec![set(SetName::Main, Choice::LeaveAlone, [0, 100, 100])];
    let left = of(left, &Costs::default(), &nitriding);
    assert!(left.not_priced.iter().all(|what| !what.contains("nitriding")), "{:?}", left.not_priced);
}

#[test]
fn a_crank_that_is_given_up_is_charged_what_every_crank_is() {
    let item = Item { what: "crack test".into(), count: 2, each: 17.5 };
    let costs = Costs { items: vec![item], ..Costs::default() };
    let sets = vec![set(SetName::Main, grind(0.254), [0, 100, 100]), set(SetName::Pin, Choice::Scrap, [0, 0, 50])];
    let quote = of(sets, &costs, &treatment("nitriding"));
    assert_eq!((quote.lines.len(), quote.total(), quote.likely()), (1, 35.0, 35.0));
    assert!(quote.not_priced.is_empty() && quote.has_pence());
    let nothing = of(vec![set(SetName::Main, Choice::Scrap, [0, 0, 50])], &Costs::default(), &treatment("none"));
    assert!(nothing.total().is_sign_positive() && nothing.likely().is_sign_positive(), "no bill of minus nought");
}

#[test]
fn a_set_that_is_not_measured_is_not_in_the_price() {
    let mains = vec![set(SetName::Main, grind(0.508), [0, 50, 100])];
    let quote = of(mains, &Costs::default(), &treatment("none"));
    assert_eq!(quote.total(), 150.0);
    assert_eq!(quote.not_priced, ["the pins, which are not measured yet"]);
}

/// The choices by cost are over what the choice weighs, with the worth of a size.
#[test]
fn the_ways_keep_what_the_choice_weighs() {
    let prices = SetPrices { pass: 50.0, shells: vec![40.0, 45.0], life: 100.0, scrap: 250.0 };
    let found = ways(&set(SetName::Pin, grind(0.254), [0, 95, 100]), &prices, 0.90);
    assert_eq!(found.by_cost_mm, Some(0.254));
    let charged: Vec<f64> = found.ways.iter().map(|way| way.charged.round()).collect();
    // 50 + 40 + 0.05 × 50 + 0.05 × (45 - 40), and 50 + 45.
    assert_eq!(charged, [93.0, 95.0]);
}
