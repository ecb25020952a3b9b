//! What stands on the card for the wall.

use crank::{SetName, Specification};
use paper::documents::{CardRow, CardSet, EngineCard};
use regrind::words::standard_or_under;
use regrind::{Policy, Stage, Work, plan};
use units::show_mm;

use super::{NotPrinted, Papers};
use crate::wording::capital;

/// The stages that a card tells, where the plan has them.
const STAGES: [(Stage, &str); 3] =
    [(Stage::Grind, "Off the wheel"), (Stage::BeforeTreatment, "Before treatment"), (Stage::Finished, "Finished")];

impl Papers<'_> {
    pub(super) fn engine_card(&self) -> Result<EngineCard, NotPrinted> {
        let book = self.card.book()?;
        let unit = self.card.unit();
        // How the shop works, where the job tells it; an engine alone is told in the usual way.
        let policy = self.card.sheet().map_or_else(|_| Policy::usual(unit), |sheet| sheet.policy.clone());
        let sets = SetName::BOTH.into_iter().map(|set| self.set_on_card(book, &policy, set)).collect();
        let mut notes = Vec::new();
        let treatment = &book.treatment;
        if treatment.after_grinding {
            notes.push(format!(
                "To go through {} after grinding: {} of growth on the diameter is allowed for, {} is left for the polish.",
                treatment.kind,
                self.with_unit(treatment.growth_mean_mm),
                self.with_unit(policy.polish_stock_mm)
            ));
        } else {
            notes.push(format!(
                "{} is left for the polish; no growth is counted.",
                self.with_unit(policy.polish_stock_mm)
            ));
        }
        notes.push(
            "Where housings and shells were measured the sheet of the job finishes to what they ask for, not to this card. \
             Compare it with the maker’s manual before it hangs."
                .to_owned(),
        );
        Ok(EngineCard {
            shop: self.shop.setting("name").unwrap_or_default().to_owned(),
            engine: book.name.clone(),
            unit: format!("{}, on the diameter", capital(unit.plural())),
            sets,
            notes,
        })
    }

    fn set_on_card(&self, book: &Specification, policy: &Policy, set: SetName) -> CardSet {
        let of = book.set(set);
        let unit = self.card.unit();
        let told: Vec<(Stage, &str)> = STAGES
            .into_iter()
            .filter(|(stage, _)| *stage != Stage::BeforeTreatment || book.treatment.after_grinding)
            .collect();
        // The shop's usual one, that nobody named, is read on the scale of its unit.
        let micrometers: Vec<_> =
            self.card.micrometers.iter().filter(|own| own.name != gauge::Instrument::SHOP_DEFAULT).collect();
        let row = |undersize_mm: f64| {
            let work = Work { micrometers: micrometers.clone(), ..Work::to(undersize_mm, unit) };
            let plan = plan(of, &book.treatment, policy, &work);
            let stages: Vec<_> = told.iter().map(|(stage, _)| plan.stage(*stage)).collect();
            let each = |say: &dyn Fn(&regrind::StageSize) -> String| {
                stages.iter().map(|stage| stage.map_or_else(String::new, say)).collect()
            };
            CardRow {
                undersize: capital(&standard_or_under(undersize_mm, unit)),
                targets: each(&|stage| stage.target_figure(unit)),
                told: each(&|stage| {
                    let window = stage
                        .window_figures(unit)
                        .map_or_else(|| "no window left".to_owned(), |(low, high)| format!("{low} to {high}"));
                    let stands = gauge::as_read(&micrometers, stage.target_mm, unit);
                    // The size itself stands above.
                    let on = stands.split_once(" on the ").map_or(stands.clone(), |(_, on)| format!("on the {on}"));
                    format!("{window}; {on}")
                }),
                permitted: of.smallest_mm.is_none_or(|smallest| of.finished(undersize_mm).low_mm >= smallest - 1e-9),
            }
        };
        let mut limits = Vec::new();
        limits.extend(of.out_of_round_mm.map(|mm| format!("out-of-round at most {}", self.with_unit(mm))));
        limits.extend(of.taper.map(|taper| format!("taper at most {}", self.with_unit(taper.over_mm(of.length_mm)))));
        limits.extend(
            of.wear_limit_mm
                .map(|mm| format!("worn not below {} {unit} at standard", show_mm(mm, unit, unit.usual_decimals()))),
        );
        limits.extend(
            of.smallest_mm.map(|mm| format!("no journal below {} {unit}", show_mm(mm, unit, unit.usual_decimals()))),
        );
        let limits = if limits.is_empty() {
            "The book tells no limits of form.".to_owned()
        } else {
            format!("{}.", capital(&limits.join("; ")))
        };
        CardSet {
            name: match of.count() {
                1 => format!("1 {}", self.words.one_of(set)),
                several => format!("{several} {}", self.words.set_within(set)),
            },
            limits,
            stages: told.iter().map(|(_, name)| (*name).to_owned()).collect(),
            rows: of.ladder_mm().into_iter().map(row).collect(),
        }
    }
}
