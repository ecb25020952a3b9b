//! Wear along the crank: which mains suffered.

use plotters::chart::{ChartBuilder, LabelAreaPosition};
use plotters::drawing::{DrawingAreaErrorKind, IntoDrawingArea};
use plotters::element::{Circle, Polygon, Rectangle};
use plotters::series::LineSeries;
use plotters::style::{Color, IntoFont};
use units::{Unit, show_mm};

use crate::labelling::{Block, LEADING, in_rows, room_for, rooms, wrapped};
use crate::plot::{DASHED, EDGE, HATCH, INK, Onto, PAPER, THIN, pixels, place};
use crate::{Drawing, Drawn, Label, Pen, Place};

/// One main in the plot.
#[derive(Clone, Debug, PartialEq)]
pub struct WornMain {
    /// What it is called.
    pub name: String,
    /// Mid-length along the axis, from the nose.
    pub position_mm: f64,
    /// Wear on the diameter, where it is known.
    pub wear_mm: Option<f64>,
    /// Out-of-round on the diameter, where it is known.
    pub out_of_round_mm: Option<f64>,
    /// Total indicator reading, where it was measured.
    pub run_out_mm: Option<f64>,
}

/// The mains of one crank.
#[derive(Clone, Debug, PartialEq)]
pub struct WearAlong {
    /// The unit of figures.
    pub unit: Unit,
    /// The mains, in any order.
    pub mains: Vec<WornMain>,
    /// What the pattern reminds of, in words; may be empty.
    pub pattern: String,
}

/// What the plot itself takes in height.
const PLOT_MM: f64 = 58.0;
/// Half of a bar.
const BAR_MM: f64 = 2.2;
/// Room for the figures at the axis.
const FIGURES_MM: f64 = 16.0;

impl WearAlong {
    /// As wide as a page of A4 has room for.
    pub const USUAL_MM: f64 = 186.0;

    /// Draws it; what is narrower than 120 mm is drawn so wide.
    pub fn draw(&self, width_mm: f64) -> Drawn {
        let width = if width_mm >= 120.0 { width_mm.min(1000.0) } else { 120.0 };
        let mut troubles = Vec::new();
        let mut mains: Vec<WornMain> = Vec::new();
        for main in &self.mains {
            if main.position_mm.is_nan() || main.position_mm.abs() >= 1e5 {
                troubles.push(format!("{} has no position: left out.", main.name));
                continue;
            }
            let mut sound = |mm: Option<f64>, what: &str| match mm {
                Some(mm) if !(0.0..1e3).contains(&mm) => {
                    troubles.push(format!("{what} of {} is no length: left out.", main.name));
                    None
                }
                mm => mm,
            };
            let (wear_mm, out_of_round_mm, run_out_mm) = (
                sound(main.wear_mm, "The wear"),
                sound(main.out_of_round_mm, "The out-of-round"),
                sound(main.run_out_mm, "The run-out"),
            );
            mains.push(WornMain { wear_mm, out_of_round_mm, run_out_mm, ..main.clone() });
        }
        mains.sort_by(|a, b| a.position_mm.total_cmp(&b.position_mm));
        let mut drawing = Drawing::new(width, PLOT_MM + 8.0, "Wear along the crank");
        drawing.label(Label::words((0.0, 4.0), "Wear along the crank").sized(4.0).bold());
        let known = |main: &&WornMain| main.wear_mm.or(main.out_of_round_mm).or(main.run_out_mm).is_some();
        let mut y = 6.0;
        if mains.iter().any(|main| known(&main)) {
            // The library fails only where a backend does, and this one cannot.
            match self.plot(&mut drawing, &mains) {
                Ok(at) => y = self.names(&mut drawing, &mains, &at),
                Err(error) => troubles.push(format!("The plot was not drawn: {error}.")),
            }
        } else {
            troubles.push("No main is measured.".to_owned());
        }
        let mut notes = vec![format!(
            "Hatched bar: wear. Open dot: out-of-round. Black diamond: run-out, as the dial shows it in one turn. In {}.",
            self.unit.plural()
        )];
        notes.extend(Some(self.pattern.clone()).filter(|pattern| !pattern.is_empty()));
        notes.extend(troubles.iter().cloned());
        for note in notes {
            for line in wrapped(&note, Label::USUAL_MM, false, width) {
                y += Label::USUAL_MM * LEADING;
                drawing.label(Label::words((0.0, y), line));
            }
        }
        drawing.height_mm = y + 1.5;
        drawing.says = self.says(&mains);
        Drawn { drawing, troubles }
    }

    /// The plot; returns where each main stands at the foot of it.
    fn plot(
        &self,
        drawing: &mut Drawing,
        mains: &[WornMain],
    ) -> Result<Vec<Place>, DrawingAreaErrorKind<std::convert::Infallible>> {
        let unit = self.unit.mm();
        let values = mains.iter().flat_map(|m| [m.wear_mm, m.out_of_round_mm, m.run_out_mm]).flatten();
        let top = 1.12 * values.fold(0.005, f64::max) / unit;
        let (first, last) =
            (mains.first().map_or(0.0, |main| main.position_mm), mains.last().map_or(0.0, |main| main.position_mm));
        let beyond = (0.08 * (last - first)).max(1.0);
        // What stands for a distance along the crank on the paper, for the width of a bar.
        let along = (last - first + 2.0 * beyond) / (drawing.width_mm - FIGURES_MM - 4.0);
        let apart = mains.iter().zip(mains.iter().skip(1)).map(|(a, b)| b.position_mm - a.position_mm);
        let bar = (BAR_MM * along).min(0.35 * apart.filter(|mm| *mm > 0.0).fold(f64::INFINITY, f64::min));
        let decimals = self.unit.usual_decimals();
        let mut at = Vec::new();
        let mut marks = Vec::new();
        std::mem::swap(&mut marks, &mut drawing.marks);
        {
            let area = Onto(drawing).into_drawing_area();
            let mut chart = ChartBuilder::on(&area)
                .margin_top(pixels(8.0))
                .margin_right(pixels(4.0))
                .set_label_area_size(LabelAreaPosition::Left, pixels(FIGURES_MM))
                .build_cartesian_2d((first - beyond)..(last + beyond), 0.0..top)?;
            let figures = ("Figures", f64::from(pixels(Label::USUAL_MM))).into_font();
            let words = |value: &f64| show_mm(*value * unit, self.unit, decimals);
            chart
                .configure_mesh()
                .disable_x_mesh()
                .disable_x_axis()
                .y_max_light_lines(1)
                .y_labels(6)
                .y_label_formatter(&words)
                .label_style(figures)
                .set_tick_mark_size(LabelAreaPosition::Left, pixels(1.2))
                .bold_line_style(THIN.stroke_width(1))
                .light_line_style(THIN.mix(0.0))
                .axis_style(EDGE.stroke_width(1))
                .draw()?;
            let corners =
                |main: &WornMain, mm: f64| [(main.position_mm - bar, 0.0), (main.position_mm + bar, mm / unit)];
            let worn = mains.iter().filter_map(|main| main.wear_mm.map(|mm| corners(main, mm)));
            let bars: Vec<_> = worn.collect();
            chart.draw_series(bars.iter().map(|corners| Rectangle::new(*corners, PAPER.filled())))?;
            chart.draw_series(bars.iter().map(|corners| Rectangle::new(*corners, HATCH.filled())))?;
            let run_out: Vec<(f64, f64)> =
                mains.iter().filter_map(|main| main.run_out_mm.map(|mm| (main.position_mm, mm / unit))).collect();
            chart.draw_series(LineSeries::new(run_out.iter().copied(), DASHED))?;
            let (wide, high) = (1.3 * along, 1.3 * top / PLOT_MM);
            let diamond = |&(x, y): &(f64, f64)| {
                Polygon::new([(x - wide, y), (x, y + high), (x + wide, y), (x, y - high)], INK.filled())
            };
            chart.draw_series(run_out.iter().map(diamond))?;
            let round = mains.iter().filter_map(|main| main.out_of_round_mm.map(|mm| (main.position_mm, mm / unit)));
            chart.draw_series(round.map(|at| Circle::new(at, pixels(1.0), PAPER.filled())))?;
            at.extend(mains.iter().map(|main| place(chart.backend_coord(&(main.position_mm, 0.0)))));
        }
        std::mem::swap(&mut marks, &mut drawing.marks);
        drawing.marks.push(crate::Mark::Group { name: "plot".to_owned(), marks });
        Ok(at)
    }

    /// Names under the plot, with nose and flywheel at the ends; returns where they end.
    fn names(&self, drawing: &mut Drawing, mains: &[WornMain], at: &[Place]) -> f64 {
        let size = Label::USUAL_MM;
        let foot = at.first().map_or(0.0, |place| place.1);
        let xs: Vec<f64> = at.iter().map(|place| place.0).collect();
        let rooms = rooms(&xs, 10.0, 40.0);
        let lines: Vec<Vec<String>> =
            mains.iter().zip(rooms).map(|(main, room)| wrapped(&main.name, size, true, room)).collect();
        let blocks: Vec<Block> = lines
            .iter()
            .zip(&xs)
            .map(|(lines, &at_mm)| Block {
                at_mm,
                width_mm: lines.iter().map(|line| room_for(line, size, true)).fold(0.0, f64::max),
                height_mm: lines.len() as f64 * size * LEADING,
            })
            .collect();
        let (puts, deep) = in_rows(&blocks, 0.0, drawing.width_mm);
        for ((lines, block), put) in lines.iter().zip(&blocks).zip(&puts) {
            let top = foot + 1.5 + put.off_mm;
            drawing.line([(block.at_mm, foot), (block.at_mm, top)], Pen::Thin);
            for (n, line) in lines.iter().enumerate() {
                let y = top + size * LEADING * (n as f64 + 0.85);
                drawing.label(Label::words((put.left_mm + block.width_mm / 2.0, y), line.as_str()).middle().bold());
            }
        }
        let y = foot + 2.0 + deep + size;
        drawing.label(Label::words((FIGURES_MM, y), "nose"));
        drawing.label(Label::words((drawing.width_mm, y), "flywheel").end());
        y + 2.0
    }

    fn says(&self, mains: &[WornMain]) -> String {
        let decimals = self.unit.usual_decimals();
        let figure = |mm: f64| show_mm(mm, self.unit, decimals);
        let main = |main: &WornMain| {
            let parts = [("worn", main.wear_mm), ("out of round", main.out_of_round_mm), ("run-out", main.run_out_mm)];
            let told: Vec<String> =
                parts.iter().filter_map(|(what, mm)| mm.map(|mm| format!("{what} {}", figure(mm)))).collect();
            let told = if told.is_empty() { "not measured".to_owned() } else { told.join(", ") };
            format!("{}: {told}", main.name)
        };
        let told: Vec<String> = mains.iter().map(main).collect();
        let pattern = if self.pattern.is_empty() { String::new() } else { format!(" {}", self.pattern) };
        format!("Mains from the nose, in {}. {}.{pattern}", self.unit.plural(), told.join("; "))
    }
}
