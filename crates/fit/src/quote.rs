//! What the work costs: every way up the ladder with its likely bill, the choice by cost beside the choice by confidence,
//! and a quotation line by line. Money is in the one currency of the shop's prices.

use crank::{SetName, Treatment};
use regrind::words::in_hundred;
use regrind::{Bill, Chance, Choice, Policy, SetPrices, SetVerdict, Verdict, bill};
use units::Unit;

use crate::answer::Fit;
use crate::shells::step_words;

/// An operation or a part that is charged whatever the ladder says: cleaning, the crack test, plugs.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// What it is.
    pub what: String,
    /// How many.
    pub count: u32,
    /// The price of one.
    pub each: f64,
}

/// What the shop charges besides passes and shells.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Costs {
    /// Operations and parts that every crank needs.
    pub items: Vec<Item>,
    /// One thrust washer, or the two halves of one face.
    pub washer: Option<f64>,
    /// Polishing one set, where it is not ground.
    pub polish: Option<f64>,
    /// Treating one crank again after it was ground.
    pub treatment: Option<f64>,
}

/// Starting at one undersize.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    /// The undersize.
    pub undersize_mm: f64,
    /// Chance that it cleans up there.
    pub chance: Chance,
    /// What it is expected to cost, with what the sizes used up are worth to the owner.
    pub bill: Bill,
    /// The same without that worth, which nobody is charged.
    pub charged: f64,
    /// Steps of the ladder used up when it cleans up there.
    pub steps_used: usize,
    /// Steps of the ladder left then.
    pub steps_left: usize,
}

/// Every way up the ladder of one set.
#[derive(Clone, Debug, PartialEq)]
pub struct Ways {
    /// The set.
    pub set: SetName,
    /// The permitted steps, standard first, without those that cannot clean up.
    pub ways: Vec<Way>,
    /// The undersize whose expected cost is least, where one reaches the shop's confidence at all.
    pub by_cost_mm: Option<f64>,
    /// The smallest undersize whose chance reaches the shop's confidence.
    pub by_confidence_mm: Option<f64>,
}

impl Ways {
    /// Whether the two choices part.
    pub fn differ(&self) -> bool {
        self.by_cost_mm != self.by_confidence_mm
    }
}

/// The ways up a set's ladder with the shop's prices.
///
/// Expected cost counts the passes, the shells of the size it ends at, what the steps used up are worth, and the crank
/// where the last step fails too (see [`regrind::bill`]). Both choices are over the same steps: those that the book's
/// smallest size permits.
pub fn ways(set: &SetVerdict, prices: &SetPrices, confidence: f64) -> Ways {
    let permitted: Vec<_> = set.steps.iter().filter(|step| step.permitted).collect();
    let count = permitted.len();
    let charged = prices.charged();
    let ways: Vec<Way> = permitted
        .iter()
        .enumerate()
        .filter(|(_, step)| step.chance.hits > 0)
        .filter_map(|(used, step)| {
            Some(Way {
                undersize_mm: step.undersize_mm,
                chance: step.chance,
                bill: bill(set, prices, step.undersize_mm)?,
                charged: bill(set, &charged, step.undersize_mm)?.total(),
                steps_used: used,
                steps_left: count - 1 - used,
            })
        })
        .collect();
    let by_confidence = ways.iter().find(|way| way.chance.share() >= confidence);
    // As the choice itself: a ladder without a sure step is not walked for money.
    let by_cost = by_confidence
        .and_then(|_| ways.iter().min_by(|a, b| a.bill.total().total_cmp(&b.bill.total())))
        .map(|way| way.undersize_mm);
    Ways { set: set.set, by_cost_mm: by_cost, by_confidence_mm: by_confidence.map(|way| way.undersize_mm), ways }
}

/// One line of a quotation.
#[derive(Clone, Debug, PartialEq)]
pub struct QuoteLine {
    /// What it is for.
    pub what: String,
    /// How many.
    pub count: u32,
    /// The price of one.
    pub each: f64,
}

impl QuoteLine {
    /// Price times count.
    pub fn amount(&self) -> f64 {
        self.each * f64::from(self.count)
    }
}

/// A quotation: what it costs if all goes as chosen, and what it may come to.
#[derive(Clone, Debug, PartialEq)]
pub struct Quote {
    /// What is charged if each set cleans up where it starts.
    pub lines: Vec<QuoteLine>,
    /// What going again would add, on average over many such cranks, set by set, in words and money. Whole amounts: an
    /// average of many is no price to the penny, and so they add up as printed.
    pub again: Vec<(String, f64)>,
    /// Work that is to be done and has no price.
    pub not_priced: Vec<String>,
    /// Every way up the ladder, set by set, where prices are known.
    pub ways: Vec<Ways>,
}

impl Quote {
    /// The sum of the lines.
    pub fn total(&self) -> f64 {
        // An empty sum of floating numbers is minus nought.
        self.lines.iter().map(QuoteLine::amount).fold(0.0, |all, one| all + one)
    }

    /// The sum of the lines and of what going again adds on average.
    pub fn likely(&self) -> f64 {
        self.again.iter().fold(self.total(), |all, (_, money)| all + money)
    }

    /// Whether a price in it has a fraction, so that all of them are shown with two decimals.
    pub fn has_pence(&self) -> bool {
        self.lines.iter().any(|line| line.each.fract() != 0.0)
    }
}

/// What a quotation is made from.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The verdict, each set as it was decided.
    pub verdict: &'a Verdict,
    /// The bearings, which may need thrust washers.
    pub fit: Option<&'a Fit>,
    /// How the shop works, and what it charges for passes and shells.
    pub policy: &'a Policy,
    /// What it charges besides.
    pub costs: &'a Costs,
    /// How the crank is hardened.
    pub treatment: &'a Treatment,
    /// The unit of undersizes.
    pub unit: Unit,
}

/// A quotation for the work that a verdict chose. What a step used up is worth to the owner is not charged and stands in
/// the ways only. Where one set is given up nothing is done to the other either: only what every crank needs is charged.
pub fn quote(asked: Asked<'_>) -> Quote {
    let mut quote = Quote { lines: Vec::new(), again: Vec::new(), not_priced: Vec::new(), ways: Vec::new() };
    for item in &asked.costs.items {
        quote.lines.push(QuoteLine { what: item.what.clone(), count: item.count, each: item.each });
    }
    let sets = &asked.verdict.sets;
    let given_up = sets.iter().any(|set| set.choice == Choice::Scrap);
    for set in sets {
        let prices = asked.policy.prices.as_ref().map(|prices| match set.set {
            SetName::Main => &prices.main,
            SetName::Pin => &prices.pin,
        });
        quote.ways.extend(prices.map(|prices| ways(set, prices, asked.policy.confidence)));
        if !given_up {
            of_set(&mut quote, set, prices, asked);
        }
    }
    if given_up {
        return quote;
    }
    treated(&mut quote, asked);
    for set in SetName::BOTH.into_iter().filter(|set| !sets.iter().any(|known| known.set == *set)) {
        quote.not_priced.push(format!("the {}, which are not measured yet", plural(set)));
    }
    let washers = asked.fit.and_then(|fit| fit.end_float.as_ref()?.washers).filter(|w| w.within);
    if let Some(count) = washers.map(|washers| washers.to_order()).filter(|count| *count > 0) {
        match asked.costs.washer {
            Some(each) => quote.lines.push(QuoteLine { what: "thrust washers".to_owned(), count, each }),
            None => quote.not_priced.push("thrust washers".to_owned()),
        }
    }
    quote
}

const fn plural(set: SetName) -> &'static str {
    match set {
        SetName::Main => "mains",
        SetName::Pin => "pins",
    }
}

/// What a pass is for, in the order of the work: the polish that stock is left for belongs to it.
fn pass_words(set: SetName, size: &str, policy: &Policy) -> String {
    let polish = if policy.polish_stock_mm > 0.0 { " and polish them" } else { "" };
    format!("grind the {} to {size}{polish}", plural(set))
}

fn of_set(quote: &mut Quote, set: &SetVerdict, prices: Option<&SetPrices>, asked: Asked<'_>) {
    let name = plural(set.set);
    match set.choice {
        Choice::Grind { undersize_mm } => {
            let size = step_words(undersize_mm, asked.unit);
            let work = pass_words(set.set, &size, asked.policy);
            match prices.and_then(|prices| bill(set, &prices.charged(), undersize_mm)) {
                Some(bill) => {
                    quote.lines.push(QuoteLine { what: work, count: 1, each: bill.grind });
                    let shells = format!("{} shells, {size}", set.set);
                    quote.lines.push(QuoteLine { what: shells, count: 1, each: bill.bearings });
                    let again = (bill.again_share * bill.again).round();
                    if again > 0.0 {
                        let words =
                            format!("the {name} need a deeper size: {} such cranks", in_hundred(bill.again_share));
                        quote.again.push((words, again));
                    }
                }
                None => quote.not_priced.push(work),
            }
        }
        Choice::PolishOnly => match asked.costs.polish {
            Some(each) => quote.lines.push(QuoteLine { what: format!("polish the {name}"), count: 1, each }),
            None => quote.not_priced.push(format!("polish the {name}")),
        },
        Choice::BuildUp => quote.not_priced.push(format!("build the {name} up, and grind them after it")),
        Choice::NotDecided => quote.not_priced.push(format!("the {name}, which are not decided yet")),
        Choice::LeaveAlone | Choice::Scrap => {}
    }
}

/// The heat treatment after grinding, where the book names one. An item of the shop that names the same treatment is its
/// price.
fn treated(quote: &mut Quote, asked: Asked<'_>) {
    let kind = &asked.treatment.kind;
    let ground = asked.verdict.sets.iter().any(|set| matches!(set.choice, Choice::Grind { .. }));
    if !ground || kind == "none" {
        return;
    }
    let named = |line: &QuoteLine| line.what.to_lowercase().contains(&kind.to_lowercase());
    match (asked.treatment.after_grinding, asked.costs.treatment) {
        (true, _) if quote.lines.iter().any(named) => {}
        (true, Some(each)) => quote.lines.push(QuoteLine { what: format!("{kind} after grinding"), count: 1, each }),
        (true, None) => quote.not_priced.push(format!("{kind} after grinding")),
        (false, _) => quote.not_priced.push(format!("{kind} after grinding, should the crank need it again")),
    }
}
