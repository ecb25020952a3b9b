//! Drawn micrometers on a page: at the size of its letters, and where there is less room the part round the thimble's edge.

use gauge::scale::Frame;
use paper::micrometer::{front, vernier};
use paper::{Drawing, SvgSize};
use units::Length;

use crate::trouble::Trouble;

/// Sleeve and thimble; `name` tells several on one page apart.
pub(crate) fn front_svg(on: Frame, size: Length, peep: Length, name: &str) -> Result<String, Trouble> {
    front(on, size, peep).map(|drawing| svg(&drawing, &format!("front{name}"))).map_err(fault)
}

/// The vernier; nothing where there is none.
pub(crate) fn vernier_svg(on: Frame, size: Length, peep: Length) -> Result<Option<String>, Trouble> {
    Ok(vernier(on, size, peep).map_err(fault)?.map(|drawing| svg(&drawing, "vernier")))
}

/// Sleeve and thimble, and the vernier where there is one.
pub(crate) fn whole_svg(on: Frame, size: Length, peep: Length) -> Result<String, Trouble> {
    Ok(front_svg(on, size, peep, "")? + &vernier_svg(on, size, peep)?.unwrap_or_default())
}

fn svg(drawing: &Drawing, name: &str) -> String {
    let svg = drawing.to_svg(name, SvgSize::Page);
    svg.replacen("<svg ", "<svg preserveAspectRatio=\"xMaxYMid slice\" ", 1)
}

fn fault(error: gauge::scale::ScaleError) -> Trouble {
    Trouble::fault(error.to_string())
}
