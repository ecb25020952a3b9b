//! Roundness of a traced section, and what two points and a vee-block can see of it.
//!
//! A [`Profile`] is one turn of an indicator: a radius at each angle about some centre near the true one. Around it go
//! the four reference circles of [`Reference`]. Each is found twice: to first order, in which a centre offset
//! (x, y) changes the radius at angle t by x cos t + y sin t, and exactly, by looking again from the centre found.

use programme::{Programme, Unsolved};

/// Why a profile has no roundness.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RoundnessError {
    /// Angles and radii do not pair up.
    #[error("{angles} angles but {radii} radii")]
    Unpaired {
        /// How many angles.
        angles: usize,
        /// How many radii.
        radii: usize,
    },
    /// Three points lie on a circle whatever their radii.
    #[error("a circle needs points at three or more different angles, found {found}")]
    TooFewAngles {
        /// How many different angles there were.
        found: usize,
    },
    /// An angle or a radius is infinite or not a number, or a radius is not above zero.
    #[error("point {point} is not a radius above zero at an angle")]
    NotARadius {
        /// Which, counted from 1.
        point: usize,
    },
    /// The points lie so much to one side that they do not fix a centre.
    #[error("the points lie too close together to fix a centre")]
    OneSided,
    /// The linear programme found no answer.
    #[error("no reference circle was found: {0}")]
    NoCircle(Unsolved),
}

/// The circle from which departures are counted.
///
/// Source: ISO 12181-1 and ISO 4291 name these four (from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reference {
    /// Least squares (LSC): the mean circle.
    LeastSquares,
    /// Largest circle inside the profile (MIC): what a grinder can clean up to.
    MaximumInscribed,
    /// Smallest circle round the profile (MCC): the ring or bearing that still goes over it.
    MinimumCircumscribed,
    /// Half-way between the two concentric circles of least separation (MZC): the roundness of ISO 1101.
    MinimumZone,
}

/// A reference circle and what the profile departs from it. All lengths in millimetres, on the radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Roundness {
    /// Centre, towards angle 0, from the centre that the radii were counted from.
    pub x_mm: f64,
    /// Centre, towards 90 degrees.
    pub y_mm: f64,
    /// Radius of the reference circle.
    pub radius_mm: f64,
    /// Highest peak to deepest valley (RONt).
    pub total_mm: f64,
    /// Highest peak above the circle (RONp); zero where nothing lies outside it.
    pub peak_mm: f64,
    /// Deepest valley below the circle (RONv); zero where nothing lies inside it.
    pub valley_mm: f64,
    /// Root mean square departure (RONq).
    pub rms_mm: f64,
}

/// Radii of one section at known angles about a common point.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// (cos, sin, radius in millimetres).
    points: Vec<(f64, f64, f64)>,
}

impl Profile {
    /// A profile of radii at angles in degrees, in any order and at any spacing.
    ///
    /// # Errors
    /// [`RoundnessError`]; an oil hole left out is no error.
    pub fn new(angles_deg: &[f64], radii_mm: &[f64]) -> Result<Profile, RoundnessError> {
        if angles_deg.len() != radii_mm.len() {
            return Err(RoundnessError::Unpaired { angles: angles_deg.len(), radii: radii_mm.len() });
        }
        let pairs = || angles_deg.iter().zip(radii_mm);
        if let Some(bad) = pairs().position(|(a, r)| !a.is_finite() || !r.is_finite() || *r <= 0.0) {
            return Err(RoundnessError::NotARadius { point: bad + 1 });
        }
        let mut different: Vec<f64> = angles_deg.iter().map(|a| a.rem_euclid(360.0)).collect();
        different.sort_by(f64::total_cmp);
        different.dedup();
        if different.len() < 3 {
            return Err(RoundnessError::TooFewAngles { found: different.len() });
        }
        let points = pairs().map(|(a, r)| (a.to_radians().cos(), a.to_radians().sin(), *r)).collect();
        Ok(Profile { points })
    }

    /// The reference circle and the departures from it, to first order.
    ///
    /// # Limits
    /// A centre offset e is taken to change no radius at right angles to it; it does by e²/2r: 62.5 nm for 0.05 mm on
    /// 20 mm. Inscribed and circumscribed circles may touch the profile at two points only; then the centre can slide,
    /// and any of its places is as good.
    /// # Source
    /// Least squares: the normal equations, as NIST/SEMATECH e-Handbook 3.4.4 gives them for even spacing. The others
    /// are linear programmes by definition.
    pub fn first_order(&self, reference: Reference) -> Result<Roundness, RoundnessError> {
        let (x, y, radius) = self.circle(reference, self.largest())?;
        Ok(departures(x, y, radius, self.points.iter().map(|(c, s, r)| r - x * c - y * s - radius)))
    }

    /// The reference circle and the departures from it in true geometry.
    ///
    /// Found by looking again from each centre found, with steps held short enough that each one is a gain.
    ///
    /// # Limits
    /// The largest inscribed circle is the one reached from the centre that the radii were counted from; a larger one
    /// elsewhere is not sought.
    /// # Example
    /// ```
    /// use gauge::roundness::{Profile, Reference};
    /// // A true circle of 20 mm whose centre lies 0.1 mm off, towards 0 degrees.
    /// let angles: Vec<f64> = (0..36).map(|n| f64::from(n) * 10.0).collect();
    /// let radius = |deg: &f64| {
    ///     let (sin, cos) = deg.to_radians().sin_cos();
    ///     0.1 * cos + (400.0 - 0.01 * sin * sin).sqrt()
    /// };
    /// let radii: Vec<f64> = angles.iter().map(radius).collect();
    /// let found = Profile::new(&angles, &radii)?.exact(Reference::MaximumInscribed)?;
    /// assert!((found.x_mm - 0.1).abs() < 1e-6 && (found.radius_mm - 20.0).abs() < 1e-6 && found.total_mm < 1e-6);
    /// # Ok::<(), gauge::roundness::RoundnessError>(())
    /// ```
    pub fn exact(&self, reference: Reference) -> Result<Roundness, RoundnessError> {
        let flat: Vec<(f64, f64)> = self.points.iter().map(|(c, s, r)| (r * c, r * s)).collect();
        let seen_from = |x: f64, y: f64| -> Option<Profile> {
            let one = |&(px, py): &(f64, f64)| {
                let r = (px - x).hypot(py - y);
                (r > 0.0).then(|| ((px - x) / r, (py - y) / r, r))
            };
            flat.iter().map(one).collect::<Option<Vec<_>>>().map(|points| Profile { points })
        };
        let mut here = (0.0, 0.0);
        let mut view = self.clone();
        let mut worth = view.worth(reference);
        let mut reach = self.largest();
        // Each round either gains or quarters the reach, so this ends well before the count does.
        for _ in 0..200 {
            if reach < 1e-10 {
                break;
            }
            let (dx, dy, _) = view.circle(reference, reach)?;
            let step = dx.hypot(dy);
            let Some(next) = seen_from(here.0 + dx, here.1 + dy) else { break };
            let next_worth = next.worth(reference);
            if next_worth > worth {
                here = (here.0 + dx, here.1 + dy);
                (view, worth) = (next, next_worth);
                if step < 1e-10 {
                    break;
                }
            } else {
                reach = 0.25 * step.min(reach);
            }
        }
        let radii = || view.points.iter().map(|p| p.2);
        let radius = match reference {
            Reference::LeastSquares => radii().sum::<f64>() / view.points.len() as f64,
            Reference::MaximumInscribed => smallest(radii()),
            Reference::MinimumCircumscribed => greatest(radii()),
            Reference::MinimumZone => 0.5 * (smallest(radii()) + greatest(radii())),
        };
        Ok(departures(here.0, here.1, radius, radii().map(|r| r - radius)))
    }

    fn largest(&self) -> f64 {
        greatest(self.points.iter().map(|p| p.2))
    }

    /// What a reference circle about the present centre is good for: larger is better.
    fn worth(&self, reference: Reference) -> f64 {
        let radii = || self.points.iter().map(|p| p.2);
        match reference {
            Reference::LeastSquares => {
                let mean = radii().sum::<f64>() / self.points.len() as f64;
                -radii().map(|r| (r - mean) * (r - mean)).sum::<f64>()
            }
            Reference::MaximumInscribed => smallest(radii()),
            Reference::MinimumCircumscribed => -greatest(radii()),
            Reference::MinimumZone => smallest(radii()) - greatest(radii()),
        }
    }

    /// Centre offset and radius to first order, the offset no further than `reach` in x and in y.
    fn circle(&self, reference: Reference, reach: f64) -> Result<(f64, f64, f64), RoundnessError> {
        match reference {
            Reference::LeastSquares => {
                let (x, y, radius) = self.least_squares()?;
                let shorter = (reach / x.abs().max(y.abs())).min(1.0);
                Ok((x * shorter, y * shorter, radius))
            }
            _ => self.touching(reference, reach),
        }
    }

    /// The 3 × 3 normal equations about the mean radius; even spacing makes them diagonal, an oil hole does not.
    fn least_squares(&self) -> Result<(f64, f64, f64), RoundnessError> {
        let n = self.points.len() as f64;
        let mean = self.points.iter().map(|p| p.2).sum::<f64>() / n;
        let (c, s) = self.points.iter().fold((0.0, 0.0), |(c, s), p| (c + p.0 / n, s + p.1 / n));
        // With the mean radius eliminated, two equations are left.
        let (mut cc, mut cs, mut ss, mut cr, mut sr) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (cos, sin, r) in &self.points {
            let (u, v, d) = (cos - c, sin - s, r - mean);
            cc += u * u;
            cs += u * v;
            ss += v * v;
            cr += u * d;
            sr += v * d;
        }
        let determinant = cc * ss - cs * cs;
        if determinant <= 1e-14 * (cc + ss) * (cc + ss) {
            return Err(RoundnessError::OneSided);
        }
        let x = (cr * ss - sr * cs) / determinant;
        let y = (sr * cc - cr * cs) / determinant;
        Ok((x, y, mean - x * c - y * s))
    }

    /// The circles that touch, as linear programmes in centre offset, radius departure and (zone) half-width.
    fn touching(&self, reference: Reference, reach: f64) -> Result<(f64, f64, f64), RoundnessError> {
        // Departures from a round figure near all radii keep the programme's numbers small.
        let base = 0.5 * (smallest(self.points.iter().map(|p| p.2)) + self.largest());
        let wide = 4.0 * (reach + self.largest() - base);
        let goal = match reference {
            Reference::MinimumCircumscribed => vec![0.0, 0.0, -1.0],
            Reference::MinimumZone => vec![0.0, 0.0, 0.0, -1.0],
            _ => vec![0.0, 0.0, 1.0],
        };
        let mut question = Programme::new(goal, vec![reach, reach, wide, wide]);
        let mut limits = Vec::with_capacity(2 * self.points.len());
        for (cos, sin, r) in &self.points {
            if reference != Reference::MinimumCircumscribed {
                question.add_row(&[*cos, *sin, 1.0, -1.0]);
                limits.push(r - base);
            }
            if reference != Reference::MaximumInscribed {
                question.add_row(&[-cos, -sin, -1.0, -1.0]);
                limits.push(base - r);
            }
        }
        let best = question.solve(&limits, &mut question.start()).map_err(RoundnessError::NoCircle)?;
        match best.at[..] {
            [x, y, radius, ..] => Ok((x, y, base + radius)),
            _ => Err(RoundnessError::NoCircle(Unsolved::Numbers)),
        }
    }
}

fn smallest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(f64::INFINITY, f64::min)
}

fn greatest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(f64::NEG_INFINITY, f64::max)
}

fn departures(x_mm: f64, y_mm: f64, radius_mm: f64, found: impl Iterator<Item = f64> + Clone) -> Roundness {
    let (peak, valley) = (greatest(found.clone()), -smallest(found.clone()));
    let n = found.clone().count() as f64;
    let squares: f64 = found.map(|d| d * d).sum();
    Roundness {
        x_mm,
        y_mm,
        radius_mm,
        total_mm: peak + valley,
        peak_mm: peak.max(0.0),
        valley_mm: valley.max(0.0),
        rms_mm: (squares / n).sqrt(),
    }
}

/// What to say beside an out-of-round figure that came from two-point diameters.
pub const WHAT_TWO_POINTS_MISS: &str = "two-point diameters do not show a section with an odd number of lobes (three, \
     five, seven …): it has the same diameter all round and is still not round; a vee-block and indicator shows it";

/// How much a two-point diameter changes round a section of `lobes` regular lobes, over their height on the radius
/// from peak to valley: 2 for even lobes, 0 for odd ones.
///
/// # Source
/// r(t) + r(t + 180°): a lobe faces a lobe, or a valley.
/// # Example
/// ```
/// use gauge::roundness::two_point_factor;
/// assert_eq!((two_point_factor(2), two_point_factor(3)), (2.0, 0.0));
/// ```
pub fn two_point_factor(lobes: u32) -> f64 {
    if two_point_sees(lobes) { 2.0 } else { 0.0 }
}

/// Whether a micrometer can see regular lobes of this number at all.
pub fn two_point_sees(lobes: u32) -> bool {
    lobes > 0 && lobes.is_multiple_of(2)
}

/// How much an indicator over a vee-block changes while a section of `lobes` regular lobes turns in it, over their
/// height on the radius from peak to valley. A negative factor turns peaks into valleys; zero sees nothing.
///
/// The indicator stands opposite the vee, on its middle line. `None` for an included angle not between 0 and 180
/// degrees.
///
/// # Source
/// J. Japan Soc. Precision Eng. 43 (1977) 1167: F = 1 + cos n(90° + θ/2) / sin(θ/2).
/// # Example
/// ```
/// use gauge::roundness::vee_factor;
/// assert!((vee_factor(3, 60.0).unwrap() - 3.0).abs() < 1e-9); // three lobes, three times their height
/// assert!(vee_factor(2, 60.0).unwrap().abs() < 1e-9); // but no ovality at all
/// ```
pub fn vee_factor(lobes: u32, included_deg: f64) -> Option<f64> {
    if !(included_deg > 0.0 && included_deg < 180.0) {
        return None;
    }
    let half = included_deg / 2.0;
    Some(1.0 + cos_deg(f64::from(lobes) * (90.0 + half)) / half.to_radians().sin())
}

/// The same with the indicator between the flanks of the vee, as a saddle gauge rides on the journal.
///
/// # Source
/// G = 1 − cos n(90° − θ/2) / sin(θ/2), derived as the above with the indicator on the other side.
/// # Example
/// ```
/// use gauge::roundness::saddle_factor;
/// // In a vee of 90 degrees: 1 - cos(2 x 45) / sin 45 for two lobes, 1 - cos(3 x 45) / sin 45 for three.
/// assert!((saddle_factor(2, 90.0).unwrap() - 1.0).abs() < 1e-9);
/// assert!((saddle_factor(3, 90.0).unwrap() - 2.0).abs() < 1e-9);
/// ```
pub fn saddle_factor(lobes: u32, included_deg: f64) -> Option<f64> {
    if !(included_deg > 0.0 && included_deg < 180.0) {
        return None;
    }
    let half = included_deg / 2.0;
    Some(1.0 - cos_deg(f64::from(lobes) * (90.0 - half)) / half.to_radians().sin())
}

/// The numbers of lobes from 2 to `most` that a vee-block of this included angle shows at less than a tenth of their
/// height.
///
/// # Example
/// ```
/// assert_eq!(gauge::roundness::vee_blind_to(60.0, 5), [2, 4, 5]);
/// ```
pub fn vee_blind_to(included_deg: f64, most: u32) -> Vec<u32> {
    (2..=most).filter(|n| vee_factor(*n, included_deg).is_some_and(|f| f.abs() < 0.1)).collect()
}

/// Cosine of degrees, reduced first so that many turns cost no digits.
fn cos_deg(angle: f64) -> f64 {
    (angle % 360.0).to_radians().cos()
}
