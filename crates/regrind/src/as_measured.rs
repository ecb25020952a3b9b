//! The crank as far as it was measured: its surface where somebody looked, its condition, and the chances that follow if
//! nothing worse hides where nobody did.

use crank::{Condition, Findings, FormCheck, GroundTo, JournalId, SetName, Size, Specification};

use crate::Policy;
use crate::afterwards::Afterwards;
use crate::axis::{Geometry, Questions};
use crate::case::index;
use crate::chance::{Asked, Counts, DrawnSize, JournalForm, SAME_LENGTH_MM};
use crate::surface::{Radius, Surface, departure_at};
use crate::tally::Ladders;
use crate::unseen::Model;

/// The measured surface and the questions about it.
pub(crate) struct AsMeasured {
    pub(crate) ground_to: [GroundTo; 2],
    /// For each journal: its condition against what it was itself ground to, where that is another undersize than its set's.
    pub(crate) own_steps: Vec<Option<(f64, Condition)>>,
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
        model: &Model<'_>,
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
        let own_steps = own_steps(specification, findings, model, &ground_to);
        // A journal keeps or leaves the limits of what it was itself ground to.
        let step_mm = |j: usize| {
            own_steps[j].as_ref().map_or(ground_to[index(surface.journals[j].id.set)].undersize_mm, |own| own.0)
        };
        let forms = (0..surface.journals.len()).map(|j| form(specification, &surface, j, step_mm(j))).collect();
        let own_of = |j: usize| own_steps[j].as_ref().map(|own| own.1.clone()).or_else(|| conditions[j].clone());
        let by_own_step: Vec<Option<Condition>> = (0..conditions.len()).map(own_of).collect();
        let afterwards = Afterwards::of(specification, findings, policy, &by_own_step);
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
        AsMeasured { ground_to, own_steps, surface, questions, conditions, radii_mm, counts, afterwards }
    }
}

/// What each journal was most likely ground to, where that is another undersize than its set's and it has lost no more than a
/// journal in use does since: a spun one was not ground deeper, it was torn. With its condition against that.
fn own_steps(
    specification: &Specification,
    findings: &Findings,
    model: &Model<'_>,
    ground_to: &[GroundTo; 2],
) -> Vec<Option<(f64, Condition)>> {
    /// 0.003 in.
    const IN_USE_MM: f64 = 0.0762;
    let ids: Vec<JournalId> = specification.journals().collect();
    let own = |(j, &id): (usize, &JournalId)| {
        let step_mm = model.likeliest_step_mm(j)?;
        let same = |mm: f64| (mm - step_mm).abs() < SAME_LENGTH_MM;
        // Where all of them went together the set's own answer says so.
        let mut of_set = ids.iter().enumerate().filter(|(_, other)| other.set == id.set);
        let alike = of_set.all(|(n, _)| model.likeliest_step_mm(n).is_none_or(same));
        if alike || same(ground_to[index(id.set)].undersize_mm) {
            return None;
        }
        let condition = crank::condition(specification, findings, id, step_mm)?;
        (condition.wear_mm <= IN_USE_MM).then_some((step_mm, condition))
    };
    ids.iter().enumerate().map(own).collect()
}

/// A journal's sizes as they can be drawn: its readings, and the diameters across its traces; where the opposite of a
/// traced direction was not traced, it lies between its neighbours. A trace that crosses no diameter at all (a sweep of
/// little more than half a turn) is judged by its mean size: never not at all, or a worn journal would pass unseen.
fn form(specification: &Specification, surface: &Surface, journal: usize, ground_to_mm: f64) -> Option<JournalForm> {
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
    let check = FormCheck::new(specification.set(id.set), ground_to_mm, &places);
    Some(JournalForm { sizes, check })
}
