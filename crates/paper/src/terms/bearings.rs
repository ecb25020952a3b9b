//! The words of the bearings.

use super::{arrow, half_shell, round};
use crate::{Drawing, Fill, Label, Pen, Place};

/// Draws a word of the bearings; what the drawing shows, or nothing for a word of another kind.
pub(super) fn draw(key: &str, d: &mut Drawing) -> Option<&'static str> {
    Some(match key {
        "housing" => {
            d.rectangle((9.0, 2.0), (37.0, 25.0), Some(Pen::Edge), Fill::Hatch);
            d.circle((23.0, 13.5), 9.5, Some(Pen::Heavy), Fill::Paper);
            d.line([(5.0, 13.5), (13.5, 13.5)], Pen::Axis);
            d.line([(32.5, 13.5), (41.0, 13.5)], Pen::Axis);
            d.label(Label::words((23.0, 14.5), "housing").middle());
            d.label(Label::words((41.5, 12.6), "split").end());
            "A block with a round bore in it, split across its middle: the housing."
        }
        "wall" => {
            half_shell(d, true);
            arrow(d, (23.0, 1.0), (23.0, 3.6));
            arrow(d, (23.0, 9.6), (23.0, 5.8));
            d.label(Label::words((24.5, 9.6), "wall"));
            d.label(Label::words((23.0, 19.0), "at the crown").middle());
            "Half a ring with arrows on both sides of its thickness at the top: the wall, at the crown."
        }
        "clearance" => {
            d.circle((23.0, 13.5), 9.5, Some(Pen::Edge), Fill::Hatch);
            d.circle((23.0, 13.5), 7.3, Some(Pen::Edge), Fill::Paper);
            d.circle((23.0, 13.5), 5.4, Some(Pen::Edge), Fill::Paper);
            arrow(d, (23.0, 13.5), (23.0, 8.3));
            arrow(d, (23.0, 3.2), (23.0, 6.0));
            d.label(Label::words((33.8, 7.0), "clear-"));
            d.label(Label::words((33.8, 10.6), "ance"));
            "A journal inside its shells with a gap all round it: the clearance."
        }
        "crush" => {
            let arc = |radius: f64| {
                (0..=10)
                    .map(move |n| (f64::from(n) * 18.0).to_radians())
                    .map(move |a: f64| (20.0 + radius * a.cos(), 11.0 + radius * a.sin()))
            };
            let mut shell: Vec<Place> = vec![(29.5, 8.6)];
            shell.extend(arc(9.5));
            shell.extend([(10.5, 8.6), (12.7, 8.6)]);
            shell.extend(arc(7.3).collect::<Vec<_>>().into_iter().rev());
            shell.push((27.3, 8.6));
            d.rectangle((5.0, 11.0), (35.0, 24.0), Some(Pen::Thin), Fill::None);
            d.shape(shell, Some(Pen::Edge), Fill::Hatch);
            d.line([(30.5, 8.6), (40.0, 8.6)], Pen::Thin);
            arrow(d, (37.0, 4.0), (37.0, 8.4));
            arrow(d, (37.0, 16.0), (37.0, 11.2));
            d.label(Label::words((35.0, 4.6), "crush").end());
            "A half shell in its cap whose ends stand a little above the joint: the crush."
        }
        "end-float" => {
            webs_and_main(d);
            d.rectangle((12.5, 3.0), (33.0, 10.0), Some(Pen::Edge), Fill::Hatch);
            arrow(d, (41.0, 6.5), (36.2, 6.5));
            arrow(d, (28.0, 6.5), (32.8, 6.5));
            d.label(Label::words((23.0, 25.6), "end float").middle());
            "A housing between two webs with a gap at one of them: the end float."
        }
        "thrust-washer" => {
            webs_and_main(d);
            d.rectangle((15.0, 3.0), (30.5, 10.0), Some(Pen::Thin), Fill::Hatch);
            d.rectangle((12.3, 3.0), (14.6, 10.0), Some(Pen::Heavy), Fill::Paper);
            d.rectangle((30.9, 3.0), (33.2, 10.0), Some(Pen::Heavy), Fill::Paper);
            d.label(Label::words((23.0, 25.6), "thrust washers").middle());
            "A housing between two webs with a thin washer on each side of it: the thrust washers."
        }
        "side-clearance" => {
            for (from, to) in [(4.0, 9.0), (37.0, 42.0)] {
                d.rectangle((from, 2.0), (to, 22.0), Some(Pen::Thin), Fill::None);
            }
            d.rectangle((9.0, 9.0), (37.0, 15.0), Some(Pen::Edge), Fill::None);
            d.rectangle((10.5, 5.0), (22.0, 19.0), Some(Pen::Edge), Fill::Hatch);
            d.rectangle((22.6, 5.0), (34.1, 19.0), Some(Pen::Edge), Fill::Hatch);
            arrow(d, (28.0, 21.0), (34.1, 21.0));
            arrow(d, (43.0, 21.0), (37.0, 21.0));
            d.label(Label::words((23.0, 25.8), "side clearance").middle());
            "Two rods side by side on a pin with a gap at the cheek: the side clearance."
        }
        "oil-film" => {
            d.circle((23.0, 13.5), 10.5, Some(Pen::Edge), Fill::Hatch);
            d.circle((24.2, 15.2), 8.0, Some(Pen::Edge), Fill::Paper);
            round(d, (24.2, 15.2), 0.4, Pen::Edge);
            arrow(d, (21.0, 13.6), (25.0, 12.2));
            d.label(Label::words((36.0, 25.0), "thinnest").middle());
            d.line([(31.6, 22.8), (29.3, 22.1)], Pen::Thin);
            "A turning journal that lies a little to one side in its bearing; the film is thinnest there."
        }
        _ => return None,
    })
}

/// A main between two webs.
fn webs_and_main(d: &mut Drawing) {
    d.line([(1.0, 15.0), (45.0, 15.0)], Pen::Axis);
    for (from, to) in [(7.0, 12.0), (36.0, 41.0)] {
        d.rectangle((from, 2.0), (to, 22.0), Some(Pen::Thin), Fill::None);
    }
    d.rectangle((12.0, 10.5), (36.0, 19.5), Some(Pen::Edge), Fill::None);
}
