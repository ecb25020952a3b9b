//! The parts of the film, timed one by one.

use film::steady::{Net, Rupture, Steady};

fn main() {
    divan::main();
}

/// 181 × 41 points over the whole width, the film broken where it breaks.
#[divan::bench(sample_count = 300)]
fn broken_film_181_by_41() -> Steady {
    Steady::at(0.5, 0.7, Rupture::Reynolds, Net::STANDARD).expect("a film")
}

/// The same net, the film unbroken: one linear solution.
#[divan::bench(sample_count = 300)]
fn unbroken_film_181_by_41() -> Steady {
    Steady::at(0.5, 0.7, Rupture::Gumbel, Net::STANDARD).expect("a film")
}

/// 181 × 41 points over half the width: four times as fine across.
#[divan::bench(sample_count = 200)]
fn broken_film_181_by_41_half_width() -> Steady {
    Steady::at(0.5, 0.7, Rupture::Reynolds, Net { around: 180, across: 40 }).expect("a film")
}

/// Finding the eccentricity that carries a load.
#[divan::bench(sample_count = 100)]
fn film_under_a_load() -> Steady {
    Steady::under(0.5, 0.2, Rupture::Reynolds, Net::STANDARD).expect("a film")
}
