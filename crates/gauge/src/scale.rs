//! The scale of an outside micrometer, both ways: from a size to what stands on sleeve, thimble and vernier, and back.
//!
//! # Convention
//! Sleeve figures count from the frame's lower limit, as they do on the drum of a micrometer whose sleeve is numbered
//! 0–1 in or 0–25 mm whatever the frame: 1.8642 in on the 1–2 is sleeve 8, and 47.612 mm on the 25–50 is sleeve 22.
//! Where a sleeve carries the sizes themselves, add the lower limit. Fully open is sleeve 10 (inch; many sleeves carry
//! a 0 there) or 25.
//!
//! # Source
//! Inch: 40 threads to the inch, sleeve lines 0.025 in apart with every fourth numbered, 25 thimble divisions, vernier
//! of ten. Machine Shop Work, "Micrometers, continued" (chestofbooks.com). Metric: 0.5 mm pitch, 50 divisions; the
//! sources in `reference-cases/micrometer-scales`.

use units::{Length, Unit, digits_for};

/// How a micrometer is divided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Scale {
    /// 0.001 in.
    Thou,
    /// 0.0001 in by vernier.
    Tenth,
    /// 0.01 mm.
    Hundredth,
    /// 0.001 mm by vernier.
    Micron,
}

impl Scale {
    /// All of them.
    pub const ALL: [Scale; 4] = [Scale::Thou, Scale::Tenth, Scale::Hundredth, Scale::Micron];

    /// The scale whose graduation this is; `None` for one that no scale here has (0.002 mm, say).
    pub fn with_graduation(unit: Unit, graduation_mm: f64) -> Option<Scale> {
        let same = |scale: &Scale| {
            let own = scale.graduation().mm();
            scale.unit() == unit && (graduation_mm - own).abs() < 1e-6 * own
        };
        Scale::ALL.into_iter().find(same)
    }

    /// The vernier scale of a unit: what to say a size on where the micrometer is not known.
    pub const fn usual(unit: Unit) -> Scale {
        match unit {
            Unit::Inch => Scale::Tenth,
            Unit::Millimetre => Scale::Micron,
        }
    }

    /// The unit it is divided in.
    pub const fn unit(self) -> Unit {
        match self {
            Scale::Thou | Scale::Tenth => Unit::Inch,
            Scale::Hundredth | Scale::Micron => Unit::Millimetre,
        }
    }

    /// Whether it has a vernier.
    pub const fn has_vernier(self) -> bool {
        matches!(self, Scale::Tenth | Scale::Micron)
    }

    /// The smallest step that it shows.
    pub const fn graduation(self) -> Length {
        match self {
            Scale::Thou => Length::from_nm(25_400),
            Scale::Tenth => Length::from_nm(2_540),
            Scale::Hundredth => Length::from_nm(10_000),
            Scale::Micron => Length::from_nm(1_000),
        }
    }

    /// One division of the thimble: 0.001 in or 0.01 mm.
    pub const fn division(self) -> Length {
        match self.unit() {
            Unit::Inch => Length::from_nm(25_400),
            Unit::Millimetre => Length::from_nm(10_000),
        }
    }

    /// One turn of the thimble, which is also one line of the sleeve: 0.025 in or 0.5 mm.
    pub const fn turn(self) -> Length {
        match self.unit() {
            Unit::Inch => Length::from_nm(635_000),
            Unit::Millimetre => Length::from_nm(500_000),
        }
    }

    /// One figure of the sleeve: 0.1 in or 1 mm.
    pub const fn figure(self) -> Length {
        match self.unit() {
            Unit::Inch => Length::from_nm(2_540_000),
            Unit::Millimetre => Length::from_nm(1_000_000),
        }
    }

    /// The last figure of the sleeve: 10 tenths of an inch or 25 mm.
    pub const fn most_sleeve(self) -> u32 {
        match self.unit() {
            Unit::Inch => 10,
            Unit::Millimetre => 25,
        }
    }

    /// Most lines after a figure of the sleeve: three, or the half-millimetre line.
    pub const fn most_lines(self) -> u32 {
        match self.unit() {
            Unit::Inch => 3,
            Unit::Millimetre => 1,
        }
    }

    /// Divisions of the thimble: 25 or 50.
    pub const fn divisions(self) -> u32 {
        match self.unit() {
            Unit::Inch => 25,
            Unit::Millimetre => 50,
        }
    }

    /// Whether the thimble reads near the top of its scale, the last fifth of a turn: there the next line of the sleeve may
    /// be in sight already and does not count yet.
    ///
    /// # Source
    /// Common practice, no source.
    pub const fn near_the_top(self, thimble: u32) -> bool {
        thimble * 5 >= self.divisions() * 4
    }

    /// How far the spindle travels: 1 in or 25 mm.
    pub const fn travel(self) -> Length {
        travel(self.unit())
    }
}

const fn travel(unit: Unit) -> Length {
    match unit {
        Unit::Inch => Length::from_nm(25_400_000),
        Unit::Millimetre => Length::from_nm(25_000_000),
    }
}

/// Lower and upper limit of the usual frame for a size: steps of 1 in or 25 mm.
///
/// A size on the border belongs to the smaller frame, for journals only get smaller. Nought and less belong to the
/// first.
///
/// # Source
/// Steps of 25 mm: DIN 863-1. Steps of 1 in: common practice, no source.
/// # Example
/// ```
/// use gauge::scale::frame_for;
/// use units::{Length, Unit};
/// let (lower, upper) = frame_for(Length::from_nm(47_612_000), Unit::Millimetre);
/// assert_eq!((lower.mm(), upper.mm()), (25.0, 50.0));
/// ```
pub fn frame_for(size: Length, unit: Unit) -> (Length, Length) {
    let step = travel(unit);
    let steps = (size.nm().saturating_sub(1).max(0)) / step.nm();
    let lower = Length::from_nm(steps * step.nm());
    (lower, lower + step)
}

/// What stands on a micrometer. See the module for how the sleeve counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Setting {
    /// The last figure showing on the sleeve: 0–10 tenths of an inch, or 0–25 whole millimetres.
    pub sleeve: u32,
    /// Lines showing after it: 0–3 of 0.025 in, or the half-millimetre line, 0 or 1.
    pub lines: u32,
    /// The thimble division at the index line or just under it: 0–24 or 0–49.
    pub thimble: u32,
    /// The vernier line that matches, 0–9; none on a scale without a vernier.
    pub vernier: Option<u32>,
}

/// Why a size does not stand on a micrometer, or a setting is no size.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ScaleError {
    /// Limits that no micrometer has.
    #[error("{} to {} {unit} is not the range of a micrometer", plain(*.lower, *.unit), plain(*.upper, *.unit))]
    Frame {
        /// Lower limit asked for.
        lower: Length,
        /// Upper limit asked for.
        upper: Length,
        /// Unit of the scale.
        unit: Unit,
    },
    /// Smaller or larger than the range.
    #[error("{} {unit} is outside the micrometer's {}–{} {unit}", exact(*.size, *.unit), plain(*.lower, *.unit),
        plain(*.upper, *.unit))]
    Outside {
        /// The size.
        size: Length,
        /// Lower limit of the range.
        lower: Length,
        /// Upper limit of the range.
        upper: Length,
        /// Unit of the scale.
        unit: Unit,
    },
    /// No line stands for this size.
    #[error("{} {unit} stands between two graduations: the nearest is {} {unit}, {} {unit} {}", exact(*.size, *.unit),
        exact(*.nearest, *.unit), exact(.remainder.abs(), *.unit),
        if *.remainder < Length::ZERO { "more" } else { "less" })]
    Between {
        /// The size.
        size: Length,
        /// The size at the nearest graduation, the lower of two equally near.
        nearest: Length,
        /// `size` less `nearest`.
        remainder: Length,
        /// Unit of the scale.
        unit: Unit,
    },
    /// More than this part of the scale can show.
    #[error("{part} {found} cannot be: it goes from 0 to {most}")]
    Impossible {
        /// `sleeve`, `sleeve line`, `thimble` or `vernier`.
        part: &'static str,
        /// What was given.
        found: u32,
        /// The most that part can show.
        most: u32,
    },
    /// A vernier line for a scale without a vernier.
    #[error("vernier {found} on a scale without a vernier")]
    NoVernier {
        /// What was given.
        found: u32,
    },
    /// No vernier line for a scale that has a vernier.
    #[error("the vernier was not read")]
    VernierMissing,
}

impl ScaleError {
    /// What to do about it.
    pub fn help(&self) -> Option<String> {
        match self {
            ScaleError::Frame { unit, .. } => Some(match unit {
                Unit::Inch => "an inch micrometer has one inch of travel at most, such as 1–2".to_owned(),
                Unit::Millimetre => "a metric micrometer has 25 mm of travel at most, such as 25–50".to_owned(),
            }),
            ScaleError::Outside { size, unit, .. } if *size > Length::ZERO => {
                let (lower, upper) = frame_for(*size, *unit);
                Some(format!("the {}–{} takes that size", plain(lower, *unit), plain(upper, *unit)))
            }
            ScaleError::Outside { .. } => Some("a size is above nought".to_owned()),
            ScaleError::Between { .. } => {
                Some("take the nearest graduation, or a micrometer that reads finer".to_owned())
            }
            ScaleError::Impossible { .. } => Some("look at the micrometer again before it is moved".to_owned()),
            ScaleError::NoVernier { .. } => Some("leave the vernier out".to_owned()),
            ScaleError::VernierMissing => Some("give the line that matches, 0 to 9".to_owned()),
        }
    }
}

/// A micrometer's scale on a frame of a certain range.
///
/// # Example
/// ```
/// use gauge::scale::{Frame, Scale};
/// use units::{Unit, read};
/// let size = read("1.8642", Unit::Inch)?.length;
/// let frame = Frame::usual(Scale::Tenth, size);
/// assert_eq!(frame.words(size)?, "1.8642 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 2");
/// assert_eq!(frame.size(frame.setting(size)?)?, size);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Frame {
    scale: Scale,
    lower: Length,
    upper: Length,
}

impl Frame {
    /// A frame from its limits.
    ///
    /// # Errors
    /// [`ScaleError::Frame`] where the lower limit is below nought or not below the upper, or where they lie further
    /// apart than the spindle travels.
    pub fn new(scale: Scale, lower: Length, upper: Length) -> Result<Frame, ScaleError> {
        if lower < Length::ZERO || upper <= lower || upper - lower > scale.travel() {
            return Err(ScaleError::Frame { lower, upper, unit: scale.unit() });
        }
        Ok(Frame { scale, lower, upper })
    }

    /// The usual frame for a size.
    pub fn usual(scale: Scale, size: Length) -> Frame {
        let (lower, upper) = frame_for(size, scale.unit());
        Frame { scale, lower, upper }
    }

    /// Its scale.
    pub const fn scale(self) -> Scale {
        self.scale
    }

    /// Smallest and largest size.
    pub const fn limits(self) -> (Length, Length) {
        (self.lower, self.upper)
    }

    /// What the micrometer shows at a size.
    ///
    /// # Errors
    /// [`ScaleError::Outside`] the range, or [`ScaleError::Between`] graduations.
    pub fn setting(self, size: Length) -> Result<Setting, ScaleError> {
        let (setting, remainder) = self.nearest(size)?;
        if remainder == Length::ZERO {
            return Ok(setting);
        }
        Err(ScaleError::Between { size, nearest: size - remainder, remainder, unit: self.scale.unit() })
    }

    /// The setting nearest to a size, the lower of two equally near, and the size less that setting's.
    ///
    /// # Errors
    /// [`ScaleError::Outside`] the range.
    /// # Example
    /// ```
    /// use gauge::scale::{Frame, Scale};
    /// use units::Length;
    /// // 62.183 mm stands between two hundredths: the lower is nearer, and 0.003 is left.
    /// let size = Length::from_nm(62_183_000);
    /// let (setting, left) = Frame::usual(Scale::Hundredth, size).nearest(size)?;
    /// assert_eq!((setting.sleeve, setting.lines, setting.thimble), (12, 0, 18));
    /// assert_eq!(left, Length::from_nm(3_000));
    /// # Ok::<(), gauge::scale::ScaleError>(())
    /// ```
    pub fn nearest(self, size: Length) -> Result<(Setting, Length), ScaleError> {
        self.within(size)?;
        let graduation = self.scale.graduation().nm();
        let open = (size - self.lower).nm();
        let (below, past) = (open / graduation, open % graduation);
        // A range may end short of a graduation; then the one below is the nearest that there is.
        let up = 2 * past > graduation && (below + 1) * graduation <= (self.upper - self.lower).nm();
        let at = (below + i64::from(up)) * graduation;
        Ok((self.shown(at), Length::from_nm(open - at)))
    }

    /// What the micrometer shows when it is so many nanometres above its lower limit, a whole number of graduations.
    fn shown(self, open_nm: i64) -> Setting {
        let scale = self.scale;
        // Never negative, and never more than the travel over a division.
        let count = |from: i64, one: Length| u32::try_from(from / one.nm()).unwrap_or(0);
        Setting {
            sleeve: count(open_nm, scale.figure()),
            lines: count(open_nm % scale.figure().nm(), scale.turn()),
            thimble: count(open_nm % scale.turn().nm(), scale.division()),
            vernier: scale.has_vernier().then(|| count(open_nm % scale.division().nm(), scale.graduation())),
        }
    }

    /// The size at which the micrometer shows this.
    ///
    /// # Errors
    /// [`ScaleError::Impossible`], [`ScaleError::NoVernier`] or [`ScaleError::VernierMissing`] for what the scale cannot
    /// show; [`ScaleError::Outside`] where the setting lies beyond the range.
    pub fn size(self, setting: Setting) -> Result<Length, ScaleError> {
        let scale = self.scale;
        let vernier = match (setting.vernier, scale.has_vernier()) {
            (Some(found), false) => return Err(ScaleError::NoVernier { found }),
            (None, true) => return Err(ScaleError::VernierMissing),
            (found, _) => found.unwrap_or(0),
        };
        let parts = [
            ("sleeve", setting.sleeve, scale.figure(), scale.most_sleeve()),
            ("sleeve line", setting.lines, scale.turn(), scale.most_lines()),
            ("thimble", setting.thimble, scale.division(), scale.divisions() - 1),
            ("vernier", vernier, scale.graduation(), 9),
        ];
        let mut size = self.lower;
        for (part, found, one, most) in parts {
            if found > most {
                return Err(ScaleError::Impossible { part, found, most });
            }
            size += Length::from_nm(i64::from(found) * one.nm());
        }
        self.within(size)?;
        Ok(size)
    }

    /// A size as a machinist says it. Between graduations it is the nearest one and what is left:
    /// `… vernier 2 and 0.00005 over`, `… vernier 3 less 0.00002`. What is less than half a hundredth of a graduation is
    /// not said.
    ///
    /// # Errors
    /// [`ScaleError::Outside`] the range.
    pub fn words(self, size: Length) -> Result<String, ScaleError> {
        let (setting, remainder) = self.nearest(size)?;
        let unit = self.scale.unit();
        let lines = match (unit, setting.lines) {
            (Unit::Millimetre, 0) => "no half line",
            (Unit::Millimetre, _) => "half line showing",
            (Unit::Inch, 0) => "no line",
            (Unit::Inch, 1) => "one line",
            (Unit::Inch, 2) => "two lines",
            (Unit::Inch, _) => "three lines",
        };
        let digits = digits_for(self.scale.graduation().mm(), unit);
        let fine = |length: Length| trimmed(length, unit, digits, digits + 2);
        let mut text = format!(
            "{} {unit} on the {}–{}: sleeve {}, {lines}, thimble {}",
            fine(size),
            plain(self.lower, unit),
            plain(self.upper, unit),
            setting.sleeve,
            setting.thimble
        );
        if let Some(vernier) = setting.vernier {
            text += &format!(", vernier {vernier}");
        }
        if fine(remainder.abs()) != fine(Length::ZERO) {
            let way = if remainder > Length::ZERO { ("and ", " over") } else { ("less ", "") };
            text += &format!(" {}{}{}", way.0, fine(remainder.abs()), way.1);
        }
        Ok(text)
    }

    fn within(self, size: Length) -> Result<(), ScaleError> {
        if size < self.lower || size > self.upper {
            let Frame { scale, lower, upper } = self;
            return Err(ScaleError::Outside { size, lower, upper, unit: scale.unit() });
        }
        Ok(())
    }
}

/// Without idle zeros: `1`, `0.5`, `25`.
fn plain(length: Length, unit: Unit) -> String {
    trimmed(length, unit, 0, 6)
}

/// With three digits after the point at least, and as many as a nanometre needs.
fn exact(length: Length, unit: Unit) -> String {
    trimmed(length, unit, 3, if unit == Unit::Inch { 9 } else { 6 })
}

/// With no fewer digits after the point than `fewest`, and no idle zeros beyond those.
fn trimmed(length: Length, unit: Unit, fewest: u32, most: u32) -> String {
    let all = length.show(unit, most);
    (fewest..most)
        .map(|decimals| length.show(unit, decimals))
        .find(|text| {
            // The same number if only zeros were left off.
            let point = if text.contains('.') { "" } else { "." };
            all.strip_prefix(&format!("{text}{point}")).is_some_and(|rest| rest.bytes().all(|b| b == b'0'))
        })
        .unwrap_or(all)
}

#[cfg(test)]
mod tests;
