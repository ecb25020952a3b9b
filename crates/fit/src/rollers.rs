//! Bearings that are made to suit a journal of any size: rollers between race and journal, and white metal that is bored.

/// A roller of a made size, and the clearance that it gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Roller {
    /// Diameter of one roller.
    pub made_mm: f64,
    /// Running clearance with it, on the diameter; below zero it does not go in.
    pub clearance_mm: f64,
}

/// The rollers for one journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Rollers {
    /// The roller that would give the wanted clearance exactly: (race - journal - clearance) / 2.
    pub exact_mm: f64,
    /// Every made size, with the clearance that it gives.
    pub made: Vec<Roller>,
    /// The made size to take: the next below the exact one; nothing where all are larger.
    pub choice: Option<Roller>,
}

/// Chooses rollers for a race and a journal. All lengths in millimetres, on the diameter.
///
/// # Source
/// A worked example: race 1.6263, pin 1.2485 and a clearance of 0.001 ask for 0.1884, 0.0009 over the standard 0.1875. No 0.0009
/// is made: 0.0008 over gives 0.0012 (motorcycleinstitute.tk, fitting rod bearings).
///
/// # Example
/// ```
/// let made: Vec<f64> = [0.0, 0.0002, 0.0006, 0.0008, 0.0010].map(|over| (0.1875 + over) * 25.4).to_vec();
/// let found = fit::rollers(1.6263 * 25.4, 1.2485 * 25.4, 0.001 * 25.4, &made);
/// assert!((found.exact_mm / 25.4 - 0.1884).abs() < 1e-9);
/// let choice = found.choice.unwrap();
/// assert!((choice.made_mm / 25.4 - 0.1883).abs() < 1e-9 && (choice.clearance_mm / 25.4 - 0.0012).abs() < 1e-9);
/// ```
pub fn rollers(race_mm: f64, journal_mm: f64, clearance_mm: f64, made_mm: &[f64]) -> Rollers {
    const SAME_MM: f64 = 1e-9;
    let exact_mm = (race_mm - journal_mm - clearance_mm) / 2.0;
    let made: Vec<Roller> =
        made_mm.iter().map(|&made_mm| Roller { made_mm, clearance_mm: race_mm - journal_mm - 2.0 * made_mm }).collect();
    let fits = made.iter().filter(|roller| roller.made_mm <= exact_mm + SAME_MM);
    let choice = fits.copied().max_by(|a, b| a.made_mm.total_cmp(&b.made_mm));
    Rollers { exact_mm, made, choice }
}

/// The bore of a bearing that is made to suit a journal: its size and the wanted clearance.
///
/// # Example
/// ```
/// // White-metal mains bored 0.005 over a journal of 3.750 (charleyslatest.com 2023/01).
/// assert!((fit::bore_mm(3.750, 0.005) - 3.755).abs() < 1e-12);
/// ```
pub fn bore_mm(journal_mm: f64, clearance_mm: f64) -> f64 {
    journal_mm + clearance_mm
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: between 40.00 and 30.00 with 0.02 of clearance stand rollers of 4.99.
    #[test]
    fn nothing_is_chosen_that_is_tighter_than_wanted() {
        let found = rollers(40.0, 30.0, 0.02, &[4.98, 4.99, 5.0, 5.01]);
        assert!((found.exact_mm - 4.99).abs() < 1e-12);
        assert_eq!(found.choice.map(|roller| roller.made_mm), Some(4.99), "a made size that is exact is taken");
        let clearances: Vec<f64> = found.made.iter().map(|one| (one.clearance_mm * 1e6).round() / 1e6).collect();
        assert_eq!(clearances, [0.04, 0.02, 0.0, -0.02]);
        assert_eq!(rollers(40.0, 30.0, 0.02, &[5.0]).choice, None);
        assert_eq!(rollers(40.0, 30.0, 0.02, &[]).choice, None);
    }
}
