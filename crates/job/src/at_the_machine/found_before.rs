//! What was found on the crank before it is ground, a line for each set or journal.

use crank::{Damage, JournalId, SetName, Stamp, Taken};
use regrind::words::{capital, under};
use regrind::{Place, station_name};
use sheet::RoughnessWords;
use units::show_mm;

use super::Hand;
use crate::aims::SetAim;
use crate::march::spot_at;
use crate::wording::OldWay as _;

impl Hand<'_> {
    /// What decides each set, then stamps, damage and run-out.
    pub(super) fn found_before(&self, grinds: bool) -> Vec<(String, String)> {
        let mut lines = Vec::new();
        let ground = |set: &SetName| grinds && self.aims.set(*set).and_then(SetAim::off_the_wheel).is_some();
        for set in SetName::BOTH.into_iter().filter(ground) {
            let sheet = &self.aims.sheet;
            let found = regrind::governing(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, set);
            if let Ok(Some(place)) = found {
                lines.push((format!("Decides the {}", self.words.set_within(set)), self.place(&place)));
            }
        }
        let findings = &self.aims.sheet.findings;
        for set in SetName::BOTH {
            if let Some(stamp) = findings.stamps.iter().find(|stamp| stamp.set == set && stamp.journal.is_none()) {
                lines.push((self.words.set(set), self.stamp(stamp)));
            }
        }
        let rough_words = RoughnessWords::of(&self.aims.sheet);
        let roughness = rough_words.journals(Taken::Before);
        let told = crank::told_by_dials(&self.aims.sheet.specification, findings);
        for journal in self.aims.sheet.specification.journals() {
            let mut says: Vec<String> = findings
                .damages
                .iter()
                .filter(|damage| damage.journal == journal)
                .map(|one| self.damage(one))
                .collect();
            if let Some(run_out) = findings.run_outs.iter().find(|run_out| run_out.journal == journal) {
                says.push(format!(
                    "runs out {}, high less low, high at {:.0}° from the first throw",
                    self.with_unit(run_out.total_mm),
                    run_out.high_deg.rem_euclid(360.0)
                ));
            }
            let oval_mm = |form: &&crank::MainForm| form.oval_mm().filter(|mm| *mm > 2.0 * form.sd_mm);
            if let Some(mm) = told.forms.iter().find(|form| form.journal == journal).and_then(|form| oval_mm(&form)) {
                says.push(format!("oval by {} on the diameter, which is no bend", self.with_unit(4.0 * mm)));
            }
            let rough = roughness.iter().filter(|one| one.journal == journal && one.is_measured());
            says.extend(rough.map(|one| format!("roughness {}", rough_words.places(one))));
            says.extend(
                findings.stamps.iter().filter(|stamp| stamp.journal == Some(journal)).map(|one| self.stamp(one)),
            );
            if !says.is_empty() {
                lines.push((self.words.journal(journal), says.join("; ")));
            }
        }
        lines
    }

    /// `stamped 0.010 in under`.
    fn stamp(&self, stamp: &Stamp) -> String {
        match stamp.undersize_mm {
            mm if mm > 0.0 => format!("stamped {}", under(mm, self.unit())),
            _ => "stamped standard".to_owned(),
        }
    }

    pub(super) fn with_unit(&self, mm: f64) -> String {
        format!("{} {}", show_mm(mm, self.unit(), self.unit().usual_decimals()), self.unit())
    }

    fn place(&self, place: &Place) -> String {
        let name = match spot_at(place) {
            Some(spot) => spot.name(self.words),
            None => capital(&self.words.put(&place.in_full())),
        };
        let findings = &self.aims.sheet.findings;
        let bent = findings.run_outs.iter().any(|run_out| run_out.journal == place.journal);
        let hurt = findings.damages.iter().any(|damage| damage.journal == place.journal);
        match (bent, hurt) {
            (true, true) => format!("{name}, with its run-out and its damage"),
            (true, false) => format!("{name}, with its run-out"),
            (false, true) => format!("{name}, with its damage"),
            (false, false) => name,
        }
    }

    /// `scoring 0.0010 to 0.0030 in deep, likeliest 0.0020, rear, from 20° to 60° from the first throw`.
    fn damage(&self, damage: &Damage) -> String {
        let unit = self.unit();
        let figure = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
        let depth = damage.depth;
        let mut says = vec![if damage.is_heat() || damage.is_crack() {
            // Neither has a depth that anybody asks for.
            damage.kind.to_string()
        } else if depth.highest_mm <= 0.0 {
            format!("{}, depth not measured", damage.kind)
        } else if depth.lowest_mm == depth.highest_mm {
            format!("{} {} {unit} deep", damage.kind, figure(depth.likeliest_mm))
        } else {
            format!(
                "{} {} to {} {unit} deep, likeliest {}",
                damage.kind,
                figure(depth.lowest_mm),
                figure(depth.highest_mm),
                figure(depth.likeliest_mm)
            )
        }];
        says.push(match damage.at_mm {
            Some(at_mm) => station_name(at_mm, self.length_mm(damage.journal), unit),
            None => "over its whole length".to_owned(),
        });
        says.push(match damage.arc_deg {
            Some((from, to)) => format!("from {from:.0}° to {to:.0}° from the first throw"),
            None => "all round".to_owned(),
        });
        says.join(", ")
    }

    fn length_mm(&self, journal: JournalId) -> f64 {
        self.aims.sheet.specification.set(journal.set).length_mm
    }
}
