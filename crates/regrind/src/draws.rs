//! Draws: everything that is not known exactly, drawn together many thousand times from a stated seed.

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;

use crate::surface::{DepthRange, MeasuredSize, State, Surface};

/// Draws made in one go. The draws of a block depend on the seed and the block's number alone, so the answer is the
/// same whatever the number of threads.
pub(crate) const BLOCK: usize = 250;

/// One draw of everything.
#[derive(Clone, Debug)]
pub(crate) struct Draw {
    /// Sizes, departures, depths and shares.
    pub(crate) state: State,
    /// Scale error of each instrument.
    pub(crate) scale_errors_mm: Vec<f64>,
    /// Share by which temperature makes all sizes of each instrument wrong.
    pub(crate) temperature_shares: Vec<f64>,
    /// Radius of sound metal at each point, less what the machine's set-up takes from it.
    pub(crate) radii_mm: Vec<f64>,
}

impl Draw {
    /// What a size shares with all others of its instrument: the scale's error and the temperature's.
    pub(crate) fn common_error_mm(&self, size: &MeasuredSize) -> f64 {
        self.scale_errors_mm[size.instrument] + self.temperature_shares[size.instrument] * size.size_mm
    }
}

/// Makes the draws of one block after the other.
#[derive(Debug)]
pub(crate) struct Sampler<'a> {
    surface: &'a Surface,
    set_up_error_mm: f64,
    rng: Pcg64,
    pub(crate) draw: Draw,
}

impl<'a> Sampler<'a> {
    pub(crate) fn new(surface: &'a Surface, set_up_error_mm: f64, seed: u64, block: usize) -> Sampler<'a> {
        // `seed_from_u64` spreads every bit of its argument over the whole state. The odd factor keeps the numbers of
        // neighbouring seeds' blocks apart.
        let rng = Pcg64::seed_from_u64(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(block as u64));
        Sampler {
            surface,
            set_up_error_mm,
            rng,
            draw: Draw {
                state: surface.as_it_stands(),
                scale_errors_mm: vec![0.0; surface.error_limits_mm.len()],
                temperature_shares: vec![0.0; surface.temperature_shares.len()],
                radii_mm: Vec::with_capacity(surface.points.len()),
            },
        }
    }

    fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.rng)
    }

    /// Draws everything anew into [`Self::draw`].
    pub(crate) fn next(&mut self) {
        let surface = self.surface;
        for (i, &limit) in surface.error_limits_mm.iter().enumerate() {
            self.draw.scale_errors_mm[i] = limit * (2.0 * self.rng.random::<f64>() - 1.0);
        }
        for (i, &share) in surface.temperature_shares.iter().enumerate() {
            self.draw.temperature_shares[i] = share * self.normal();
        }
        for (i, size) in surface.sizes.iter().enumerate() {
            let own = size.own_sd_mm * self.normal();
            self.draw.state.sizes_mm[i] = size.size_mm + own + self.draw.common_error_mm(size);
        }
        for (i, departure) in surface.departures.iter().enumerate() {
            self.draw.state.departures_mm[i] = departure.mm + departure.sd_mm * self.normal();
        }
        for (i, depth) in surface.depths.iter().enumerate() {
            self.draw.state.depths_mm[i] = triangular(*depth, self.rng.random());
        }
        for (i, journal) in surface.journals.iter().enumerate() {
            let free = 0.5 + 0.5 * self.rng.random::<f64>();
            self.draw.state.shares[i] = journal.share.unwrap_or(free);
        }
        surface.sound_radii_mm(&self.draw.state, &mut self.draw.radii_mm);
        self.set_up();
    }

    /// The centre that the wheel really follows is off, once for all mains and once for each pin.
    fn set_up(&mut self) {
        let mut main = None;
        for j in 0..self.surface.journals.len() {
            let journal = &self.surface.journals[j];
            let is_main = journal.id.set == crank::SetName::Main;
            let off = match (is_main, main) {
                (true, Some(off)) => off,
                _ => (self.normal() * self.set_up_error_mm, self.normal() * self.set_up_error_mm),
            };
            if is_main {
                main = Some(off);
            }
            for i in journal.points.clone() {
                let point = &self.surface.points[i];
                self.draw.radii_mm[i] -= off.0 * point.cos + off.1 * point.sin;
            }
        }
    }
}

/// The depth below which a share `u` of a triangular distribution lies.
pub(crate) fn triangular(depth: DepthRange, u: f64) -> f64 {
    let DepthRange { lowest_mm, likeliest_mm, highest_mm, .. } = depth;
    let width = highest_mm - lowest_mm;
    if width <= 0.0 {
        return likeliest_mm;
    }
    if u * width < likeliest_mm - lowest_mm {
        lowest_mm + (u * width * (likeliest_mm - lowest_mm)).sqrt()
    } else {
        highest_mm - ((1.0 - u) * width * (highest_mm - likeliest_mm)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean (a + b + c)/3 and variance (a² + b² + c² - ab - ac - bc)/18 of the triangular distribution.
    ///
    /// Source: JCGM 101:2008, 6.4.5 gives the trapezoidal family; the moments of the skew triangle are from memory and
    /// are compared here with a sum over the inverse of its distribution function.
    #[test]
    fn depths_follow_the_triangle() {
        let (a, b, c) = (0.02, 0.05, 0.03);
        let depth = DepthRange { journal: 0, lowest_mm: a, likeliest_mm: c, highest_mm: b };
        let n = 200_000;
        let values: Vec<f64> = (0..n).map(|k| triangular(depth, (f64::from(k) + 0.5) / f64::from(n))).collect();
        let mean = values.iter().sum::<f64>() / f64::from(n);
        let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / f64::from(n);
        assert!((mean - (a + b + c) / 3.0).abs() < 1e-8, "mean {mean}");
        let expected = (a * a + b * b + c * c - a * b - a * c - b * c) / 18.0;
        assert!((variance - expected).abs() < 1e-9, "variance {variance}, expected {expected}");
        assert_eq!(triangular(depth, 0.0), a);
        assert_eq!(triangular(depth, 1.0), b);
        let exact = DepthRange { journal: 0, lowest_mm: a, likeliest_mm: a, highest_mm: a };
        assert_eq!(triangular(exact, 0.7), a);
    }
}
