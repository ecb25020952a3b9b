//! A picture of a scored journal, drawn because the shop is invented.

use image::{ImageFormat, Rgb, RgbImage};
use shop::StoreError;

use super::pen::fault;

const WIDTH: u32 = 640;
const HEIGHT: u32 = 420;
/// Where the grooves run round the journal: how far along it, how wide, how dark.
const GROOVES: [(f64, f64, f64); 5] =
    [(0.31, 0.004, 0.35), (0.38, 0.010, 0.75), (0.41, 0.004, 0.45), (0.55, 0.006, 0.60), (0.62, 0.003, 0.30)];

/// A journal lying across the picture between two webs, with grooves round it, as a PNG.
pub(super) fn scored_journal() -> Result<Vec<u8>, StoreError> {
    let picture = RgbImage::from_fn(WIDTH, HEIGHT, |x, y| {
        let along = f64::from(x) / f64::from(WIDTH);
        let across = f64::from(y) / f64::from(HEIGHT);
        let light = if !(0.12..=0.88).contains(&along) { 0.30 } else { journal(along, across) };
        // A photograph is never quite smooth.
        let grain = f64::from((x * 31 + y * 57 + x * y % 17) % 11) / 400.0;
        let shade = |tint: f64| (255.0 * (light * tint + grain)).clamp(0.0, 255.0) as u8;
        Rgb([shade(0.98), shade(1.0), shade(1.02)])
    });
    let mut png = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut png, ImageFormat::Png).map_err(fault)?;
    Ok(png.into_inner())
}

/// How light a point of the journal is: a round bar lit from above, darker in its grooves.
fn journal(along: f64, across: f64) -> f64 {
    let height = (across - 0.5) / 0.36;
    if height.abs() > 1.0 {
        return 0.12;
    }
    let round = (1.0 - height * height).sqrt();
    let lit = 0.30 + 0.45 * round + 0.20 * (-(height + 0.45).powi(2) / 0.02).exp();
    let groove = |&(at, wide, dark): &(f64, f64, f64)| {
        let off: f64 = (along - at - 0.004 * (9.0 * across).sin()) / wide;
        dark * (-off * off).exp()
    };
    lit * (1.0 - GROOVES.iter().map(groove).sum::<f64>().min(0.85))
}
