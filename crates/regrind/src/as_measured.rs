//! The crank as far as it was measured: its surface where somebody looked, its condition, and the chances that follow if
//! nothing worse hides where nobody did.

use crank::{Condition, Findings, FormCheck, GroundTo, SetName, Size, Specification};

use crate::Policy;
use crate::afterwards::Afterwards;
use crate::axis::{Geometry, Questions};
use crate::case::index;
use crate::chance::{Asked, Counts, DrawnSize, JournalForm};
use crate::surface::{Radius, Surface, departure_at};
use crate::tally::Ladders;

/// The measured surface and the questions about it.
pub(crate) struct AsMeasured {
    pub(crate) ground_to: [GroundTo; 2],
    pub(crate) surface: Surface,
    pub(crate) questions: Questions,
    pub(crate) conditions: Vec<Option<Condition>>,
    /// Radius of sound metal at every point, for the readings as they stand.
    pub(crate) radii_mm: Vec<f64>,
    pub(crate) counts: Counts,
    /// What a treatment still to come makes of every journal that is not ground.
    pub(crate) afterwards: Option<Afterwards>,
}

impl AsMeasured {
    /// Looks at what was measured and draws its chances. The chances of cleaning up on a free axis take a programme for
    /// every draw, and are left out unless they are asked for.
    pub(crate) fn new(
        specification: &Specification,
        findings: &Findings,
        policy: &Policy,
        ladders: &Ladders,
        clean_up_asked: bool,
    ) -> AsMeasured {
        let ground_to = SetName::BOTH.map(|set| crank::last_ground_to(specification, findings, set));
        let last_ground_mm =
            |set: SetName| specification.set(set).finished(ground_to[index(set)].undersize_mm).middle_mm();
        let surface = Surface::new(specification, findings, last_ground_mm);
        let questions = Questions::new(Geometry::new(specification, findings, policy, &surface));
        let conditions: Vec<Option<Condition>> = surface
            .journals
            .iter()
            .map(|j| crank::condition(specification, findings, j.id, ground_to[index(j.id.set)].undersize_mm))
            .collect();
        let forms = (0..surface.journals.len()).map(|j| form(specification, &surface, j, &ground_to)).collect();
        let afterwards = Afterwards::of(specification, findings, policy, &conditions);
        let asked = Asked {
            afterwards: afterwards.as_ref(),
            surface: &surface,
            questions: &questions,
            ladders,
            set_up_error_mm: policy.set_up_error_mm,
            polish_stock_mm: policy.polish_stock_mm,
            forms,
            clean_up: clean_up_asked || questions.geometry.is_held(),
            draws: policy.draws,
            seed: policy.seed,
        };
        let counts = asked.answer();
        let mut radii_mm = Vec::new();
        surface.sound_radii_mm(&surface.as_it_stands(), &mut radii_mm);
        AsMeasured { ground_to, surface, questions, conditions, radii_mm, counts, afterwards }
    }
}

/// A journal's sizes as they can be drawn: its readings, and the diameters across its traces; where the opposite of a
/// traced direction was not traced, it lies between its neighbours. A trace that crosses no diameter at all (a sweep of
/// little more than half a turn) is judged by its mean size: never not at all, or a worn journal would pass unseen.
fn form(
    specification: &Specification,
    surface: &Surface,
    journal: usize,
    ground_to: &[GroundTo; 2],
) -> Option<JournalForm> {
    let id = surface.journals[journal].id;
    let points = &surface.points[surface.journals[journal].points.clone()];
    let mut sizes = Vec::new();
    let mut places = Vec::new();
    let mut add = |size: usize, departures: Vec<(usize, f64)>, at_mm: f64, plane_deg: f64| {
        sizes.push(DrawnSize { size, departures });
        places.push(Size {
            at_mm,
            plane_deg: plane_deg.rem_euclid(180.0),
            size_mm: surface.sizes[size].size_mm,
            ..Size::default()
        });
    };
    for (size, measured) in surface.sizes.iter().enumerate().filter(|(_, s)| s.journal == journal) {
        let mut of_size = points.iter().filter(|p| match p.radius {
            Radius::WorseSide { size: s } | Radius::HalfSize { size: s } | Radius::Trace { size: s, .. } => s == size,
        });
        if measured.two_point {
            if let Some(point) = of_size.next() {
                add(size, Vec::new(), point.at_mm, point.angle_deg);
            }
            continue;
        }
        let mut at_mm = 0.0;
        let mut traced: Vec<(f64, usize)> = Vec::new();
        for point in of_size {
            at_mm = point.at_mm;
            if let Radius::Trace { departure, .. } = point.radius {
                traced.push((point.frame_deg, departure));
            }
        }
        traced.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut crossed = false;
        for &(angle, departure) in &traced {
            let Some(opposite) = departure_at(&traced, angle + 180.0) else { continue };
            crossed = true;
            // Both ends of an exact diameter find it; it is taken once.
            if opposite.len() == 2 || angle < 180.0 {
                add(size, std::iter::once((departure, 1.0)).chain(opposite).collect(), at_mm, angle);
            }
        }
        if !crossed {
            add(size, Vec::new(), at_mm, 0.0);
        }
    }
    if sizes.is_empty() {
        return None;
    }
    let check = FormCheck::new(specification.set(id.set), ground_to[index(id.set)].undersize_mm, &places);
    Some(JournalForm { sizes, check })
}
