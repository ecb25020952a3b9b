//! How journals stand along a crankshaft, where a book shows the layout but prints no positions.

use std::fmt;

/// Wall of a web beside each journal, as a share of the main's diameter, where nobody measured it.
///
/// Common practice, no source: webs of cast and forged automotive cranks are about a quarter of the main.
pub const WEB_SHARE: f64 = 0.25;

/// A common layout: how many mains and pins, and where the throws point, seen from the nose, clockwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    /// What it is chosen by: `four`.
    pub name: &'static str,
    /// What it is called: `four in line`.
    pub words: &'static str,
    /// How many mains it usually has.
    pub mains: usize,
    /// Direction of each throw in whole degrees, from the first throw's.
    pub angles_deg: &'static [u16],
    /// Whether the same layout is made for either hand; then the directions must be looked up.
    pub handed: bool,
}

impl Layout {
    /// The layouts that can be chosen, smallest first. Source: common practice, no source; all are the even-firing
    /// layouts that any text on balancing draws.
    pub const ALL: [Layout; 9] = [
        Layout { name: "single", words: "single", mains: 2, angles_deg: &[0], handed: false },
        Layout {
            name: "twin-together",
            words: "twin, both throws together",
            mains: 2,
            angles_deg: &[0, 0],
            handed: false,
        },
        Layout { name: "twin-opposed", words: "twin, throws opposed", mains: 2, angles_deg: &[0, 180], handed: false },
        Layout { name: "three", words: "three in line", mains: 4, angles_deg: &[0, 240, 120], handed: true },
        Layout { name: "four", words: "four in line", mains: 5, angles_deg: &[0, 180, 180, 0], handed: false },
        Layout { name: "six", words: "six in line", mains: 7, angles_deg: &[0, 120, 240, 240, 120, 0], handed: true },
        Layout { name: "vee-twin", words: "vee twin, one shared pin", mains: 2, angles_deg: &[0], handed: false },
        Layout {
            name: "vee-eight",
            words: "vee eight, throws in a cross",
            mains: 5,
            angles_deg: &[0, 90, 270, 180],
            handed: true,
        },
        Layout {
            name: "vee-eight-flat",
            words: "vee eight, throws in one plane",
            mains: 5,
            angles_deg: &[0, 180, 180, 0],
            handed: false,
        },
    ];

    /// The layout chosen by a name.
    pub fn named(name: &str) -> Option<&'static Layout> {
        const ALL: &[Layout] = &Layout::ALL;
        ALL.iter().find(|layout| layout.name == name)
    }

    /// How many pins it has.
    pub fn pins(&self) -> usize {
        self.angles_deg.len()
    }
}

/// What is known of the journals where their positions are not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Along {
    /// How many mains.
    pub mains: usize,
    /// How many pins.
    pub pins: usize,
    /// Length of one main.
    pub main_length_mm: f64,
    /// Length of one pin.
    pub pin_length_mm: f64,
    /// From the middle of one main to the middle of the next, where that is known.
    pub spacing_mm: Option<f64>,
    /// Diameter of a main, from which the webs are guessed where no spacing is known.
    pub main_size_mm: f64,
}

/// Positions that were worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Positions {
    /// Mid-length of each main, from the first.
    pub mains_mm: Vec<f64>,
    /// Mid-length of each pin, from the first main.
    pub pins_mm: Vec<f64>,
    /// From the middle of one main to the middle of the next.
    pub spacing_mm: f64,
    /// The width of each web that follows.
    pub web_mm: f64,
}

/// Why positions cannot be worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoPositions {
    /// The pins do not share out evenly between the mains.
    Uneven {
        /// How many mains.
        mains: usize,
        /// How many pins.
        pins: usize,
    },
    /// The journals alone are longer than the spacing.
    TooTight {
        /// What the journals of one bay take up.
        journals_mm: f64,
    },
    /// A length, size or spacing is no length above zero.
    NoLength,
}

impl fmt::Display for NoPositions {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoPositions::Uneven { mains, pins } => {
                write!(f, "{pins} pins do not share out evenly between {mains} mains")
            }
            NoPositions::TooTight { .. } => f.write_str("the journals alone are longer than the spacing of the mains"),
            NoPositions::NoLength => f.write_str("a length above zero is missing"),
        }
    }
}

impl std::error::Error for NoPositions {}

/// Works out where the journals stand: mains equally spaced, as many pins in each bay between two mains, webs of one
/// width between all of them.
///
/// # Units
/// Everything in millimetres along the axis, from the middle of the first main.
/// # Errors
/// [`NoPositions`].
/// # Limits
/// A drawing, not a measurement: centre mains are often longer, and webs differ. Good enough to say which journal lies
/// between which; a bend worked out from it is about as good as the guess.
/// # Source
/// Common practice, no source.
/// # Example
/// ```
/// use crank::{Along, positions};
/// // A web is a quarter of the main's size: 12.5. Half a main, a web, half a pin: 15 + 12.5 + 12.5.
/// let twin = Along {
///     mains: 2,
///     pins: 1,
///     main_length_mm: 30.0,
///     pin_length_mm: 25.0,
///     spacing_mm: None,
///     main_size_mm: 50.0,
/// };
/// let found = positions(&twin)?;
/// assert_eq!((found.pins_mm, found.spacing_mm), (vec![40.0], 80.0));
/// # Ok::<(), crank::NoPositions>(())
/// ```
pub fn positions(along: &Along) -> Result<Positions, NoPositions> {
    let Along { mains, pins, main_length_mm, pin_length_mm, spacing_mm, main_size_mm } = *along;
    let bays = mains.saturating_sub(1);
    if bays == 0 || pins == 0 || !pins.is_multiple_of(bays) {
        return Err(NoPositions::Uneven { mains, pins });
    }
    let is_length = |mm: f64| mm.is_finite() && mm > 0.0;
    let given = [Some(main_length_mm), Some(pin_length_mm), spacing_mm.or(Some(main_size_mm))];
    if !given.into_iter().flatten().all(is_length) {
        return Err(NoPositions::NoLength);
    }
    let in_bay = pins / bays;
    let journals_mm = main_length_mm + in_bay as f64 * pin_length_mm;
    let webs = in_bay as f64 + 1.0;
    let spacing_mm = spacing_mm.unwrap_or(journals_mm + webs * WEB_SHARE * main_size_mm);
    let web_mm = (spacing_mm - journals_mm) / webs;
    if web_mm < 0.0 {
        return Err(NoPositions::TooTight { journals_mm });
    }
    let pin_mm = |pin: usize| {
        let (bay, place) = (pin / in_bay, pin % in_bay);
        let before = main_length_mm / 2.0 + web_mm + place as f64 * (pin_length_mm + web_mm);
        bay as f64 * spacing_mm + before + pin_length_mm / 2.0
    };
    Ok(Positions {
        mains_mm: (0..mains).map(|main| main as f64 * spacing_mm).collect(),
        pins_mm: (0..pins).map(pin_mm).collect(),
        spacing_mm,
        web_mm,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: &[f64], expected: &[f64]) {
        assert_eq!(found.len(), expected.len());
        for (found, expected) in found.iter().zip(expected) {
            // The positions of the worked examples are written to a tenth of a unit; the sums are exact to rounding.
            assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
        }
    }

    #[test]
    fn a_pin_between_each_two_mains_stands_in_the_middle() {
        let four = Along {
            mains: 5,
            pins: 4,
            main_length_mm: 1.10,
            pin_length_mm: 0.95,
            spacing_mm: Some(3.2),
            main_size_mm: 2.125,
        };
        let found = positions(&four).expect("a sound layout");
        near(&found.mains_mm, &[0.0, 3.2, 6.4, 9.6, 12.8]);
        near(&found.pins_mm, &[1.6, 4.8, 8.0, 11.2]);
        near(&[found.web_mm], &[0.575]);
    }

    /// Worked by hand: half a main 5, web 4, pin 6, web 4, pin 6, web 4, half a main 5: a bay of 34.
    #[test]
    fn two_pins_in_a_bay_have_webs_between_them() {
        let along = Along {
            mains: 3,
            pins: 4,
            main_length_mm: 10.0,
            pin_length_mm: 6.0,
            spacing_mm: Some(34.0),
            main_size_mm: 20.0,
        };
        near(&positions(&along).expect("a sound layout").pins_mm, &[12.0, 22.0, 46.0, 56.0]);
        // The same webs, guessed: 4 is not a quarter of 20, 5 is, so each of three webs is 1 wider.
        let guessed = positions(&Along { spacing_mm: None, ..along }).expect("a sound layout");
        near(&[guessed.spacing_mm, guessed.web_mm], &[37.0, 5.0]);
    }

    #[test]
    fn what_cannot_be_worked_out_is_not_guessed() {
        let along =
            Along { mains: 5, pins: 6, main_length_mm: 1.0, pin_length_mm: 1.0, spacing_mm: None, main_size_mm: 2.0 };
        assert_eq!(positions(&along), Err(NoPositions::Uneven { mains: 5, pins: 6 }));
        assert_eq!(positions(&Along { mains: 1, ..along }), Err(NoPositions::Uneven { mains: 1, pins: 6 }));
        let tight = Along { mains: 4, pins: 3, spacing_mm: Some(1.9), ..along };
        assert_eq!(positions(&tight), Err(NoPositions::TooTight { journals_mm: 2.0 }));
        assert_eq!(positions(&Along { spacing_mm: Some(f64::NAN), ..tight }), Err(NoPositions::NoLength));
        assert_eq!(positions(&Along { pin_length_mm: 0.0, ..tight }), Err(NoPositions::NoLength));
    }

    #[test]
    fn layouts_are_known_by_name_and_share_out() {
        for layout in &Layout::ALL {
            assert_eq!(Layout::named(layout.name), Some(layout));
            assert_eq!(layout.pins() % (layout.mains - 1), 0, "{}", layout.words);
        }
        assert_eq!(Layout::named("nine"), None);
    }
}
