//! What turns with the main axis and is not ground with it: seal lands, flange, spigot, nose, gear seat; and the shaft's
//! mass.

/// A face that stands square to the main axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// How far from the axis the dial stands.
    pub radius_mm: f64,
    /// Most that the dial may show on it in one turn.
    pub limit_mm: Option<f64>,
    /// What it shows now, about the present main axis.
    pub total_mm: Option<f64>,
}

/// A dial on a round feature in one turn about the present main axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeatureDial {
    /// Highest less lowest.
    pub total_mm: f64,
    /// Direction of the high spot, from pin 1's throw.
    pub high_deg: f64,
}

/// A feature of the shaft: where it is and what the book allows there, and what was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Feature {
    /// What it is, in the document's words.
    pub name: String,
    /// Where along the shaft, counted as the positions of journals are.
    pub at_mm: f64,
    /// Most that a dial may show on it in one turn.
    pub limit_mm: Option<f64>,
    /// What it shows now; nothing where nobody measured it.
    pub dial: Option<FeatureDial>,
    /// Its face, where it has one that is to run true.
    pub face: Option<Face>,
}

impl Feature {
    /// Where its centre lies off the present main axis: half the dial towards its high spot; on the axis where nobody
    /// measured it. Toward the first throw, and square to it the way angles grow.
    ///
    /// # Example
    /// ```
    /// use crank::{Feature, FeatureDial};
    /// let dial = Some(FeatureDial { total_mm: 0.04, high_deg: 90.0 });
    /// let flange = Feature { name: "flange".into(), at_mm: 300.0, limit_mm: None, dial, face: None };
    /// let (x, y) = flange.offset_mm();
    /// assert!(x.abs() < 1e-12 && (y - 0.02).abs() < 1e-12);
    /// ```
    pub fn offset_mm(&self) -> (f64, f64) {
        self.dial.map_or((0.0, 0.0), |dial| {
            let (sin, cos) = dial.high_deg.to_radians().sin_cos();
            (dial.total_mm / 2.0 * cos, dial.total_mm / 2.0 * sin)
        })
    }
}

/// Mass of the shaft, and how much out of balance it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mass {
    /// Mass.
    pub kg: f64,
    /// Where its centre of mass is along the shaft, counted as the positions of journals are; midway between the outer
    /// mains where nobody says.
    pub at_mm: Option<f64>,
    /// The maker's figure.
    pub most_g_mm: Option<f64>,
    /// Balance grade of ISO 21940-11: the number behind the G, in millimetres a second.
    pub grade_mm_s: Option<f64>,
    /// Greatest speed, in revolutions a minute.
    pub speed_rpm: Option<f64>,
}

impl Mass {
    /// The most unbalance allowed: the maker's figure, else M G / omega; nothing where neither is known.
    ///
    /// # Source
    /// ISO 21940-11: permissible specific unbalance times angular speed is the grade.
    ///
    /// # Example
    /// ```
    /// // Grade 16 at 4,000 rev/min allows 38.2 g mm for each kilogram.
    /// let mass = crank::Mass { kg: 1.0, at_mm: None, most_g_mm: None, grade_mm_s: Some(16.0), speed_rpm: Some(4000.0) };
    /// assert!((mass.permitted_g_mm().unwrap() - 38.2).abs() < 0.05);
    /// ```
    pub fn permitted_g_mm(&self) -> Option<f64> {
        let by_grade = || {
            let omega = self.speed_rpm? * std::f64::consts::TAU / 60.0;
            // kg times mm/s over rad/s are kg mm.
            (omega > 0.0).then_some(1000.0 * self.kg * self.grade_mm_s? / omega)
        };
        self.most_g_mm.or_else(by_grade)
    }
}
