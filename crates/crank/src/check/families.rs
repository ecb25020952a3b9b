//! Values out of family: ten times too large, ten times too small, or in the wrong unit.
//!
//! Each family has two ranges. *Usual* covers what published service data say; outside it a value is queried.
//! *Possible* leaves room beyond; outside that a value is a fault until somebody confirms it. The two lie close enough
//! together that a usual value moved by one decimal place is not possible any more, or else is caught against its
//! neighbours (mains against pins, out-of-round against taper).

use units::Unit;

use super::{Book, Words, plain};
use crate::{Band, PrintedBand, PrintedLimit, PrintedSet, PrintedSpecification, SetName};

/// What a kind of value usually is and can possibly be, in millimetres (or degrees, or a pure ratio).
pub(super) struct Family {
    pub(super) what: &'static str,
    pub(super) usual: (f64, f64),
    pub(super) possible: (f64, f64),
}

/// Published 0.002 (Nissan VQ35) to 0.076 mm (TM 5-3895-346-14).
const OUT_OF_ROUND: Family = Family { what: "an out-of-round limit", usual: (0.002, 0.078), possible: (0.0018, 0.08) };
/// Published 0.002 (Nissan VQ35) to 0.076 mm (TM 5-3895-346-14).
const TAPER: Family = Family { what: "a taper limit per journal", usual: (0.002, 0.078), possible: (0.0018, 0.08) };
/// Published 0.0001 (TM 5-3805-281-24-2) to 0.0003 per unit of length (Ford 3.8).
const TAPER_PER_LENGTH: Family =
    Family { what: "a taper limit for each unit of length", usual: (0.0001, 0.0005), possible: (0.00005, 0.0009) };
/// Total indicator reading: published 0.02 (TM 5-4310-386-14) to 0.10 mm, one 0.20 in doubt (BMW M54).
const RUN_OUT: Family = Family { what: "a run-out limit (total)", usual: (0.02, 0.15), possible: (0.015, 0.25) };
/// All throws within 0.005 in of each other (TM 9-6115-604-34 p403); 0.001 to 0.002 in from memory.
const THROW_TOLERANCE: Family = Family { what: "a throw tolerance", usual: (0.01, 0.15), possible: (0.006, 0.19) };
/// Degrees. No printed limit found; a few minutes to half a degree is common practice, no source.
const INDEX_TOLERANCE: Family = Family { what: "an index tolerance", usual: (0.05, 0.5), possible: (0.03, 0.78) };
/// End float, low limit: published 0.04 (Toyota 2AZ) to 0.15 mm (Daewoo D1146).
const END_FLOAT_LOW: Family = Family { what: "the least end float", usual: (0.03, 0.25), possible: (0.02, 0.4) };
/// End float, high limit: published 0.10 mm (Ford 3.8) to 0.51 (TM 5-3895-382-24, worn).
const END_FLOAT_HIGH: Family = Family { what: "the most end float", usual: (0.09, 0.6), possible: (0.06, 0.95) };
/// Published 1.5 (Infiniti) to 6.9 mm (TM 9-6115-604-34 p404).
const FILLET: Family = Family { what: "a fillet radius", usual: (1.0, 8.0), possible: (0.8, 12.0) };
/// Published 8 to 16 microinch and 0.3 to 0.9 µm for journals and thrust faces.
const ROUGHNESS: Family = Family { what: "surface roughness", usual: (0.0001, 0.001), possible: (0.00006, 0.0016) };
/// Published 28.5 (air compressor, TM 5-3805-262-34) to 230 mm (a marine engine's sheet).
const DIAMETER: Family = Family { what: "a journal diameter", usual: (15.0, 350.0), possible: (8.0, 600.0) };
/// Crank radius. Common practice, no source.
const THROW: Family = Family { what: "a crank radius", usual: (12.0, 300.0), possible: (8.0, 600.0) };
/// A throw is of the size of its pin. Common practice, no source.
const THROW_TO_PIN: Family = Family { what: "the throw, in pin diameters", usual: (0.4, 3.0), possible: (0.25, 4.5) };
/// Mains and pins are alike: 0.9 to 1.45 published.
const MAIN_TO_PIN: Family = Family { what: "the mains, in pin diameters", usual: (0.7, 2.0), possible: (0.35, 4.0) };
/// Journal length over diameter. Common practice, no source.
const LENGTH: Family = Family { what: "the length, in diameters", usual: (0.2, 1.6), possible: (0.12, 2.5) };
/// Mean clearance over diameter: published 0.0005 (Saturn rods) to 0.0014 (roller engine).
const CLEARANCE: Family =
    Family { what: "the mean clearance, in diameters", usual: (0.0004, 0.002), possible: (0.0002, 0.003) };
/// Greatest clearance over diameter: published up to 0.003 (Daewoo, worn).
const CLEARANCE_HIGH: Family =
    Family { what: "the greatest clearance, in diameters", usual: (0.0005, 0.003), possible: (0.0003, 0.0045) };
/// Shell wall over journal diameter: published 0.033 (Subaru) to 0.045 (6V-53).
const WALL: Family = Family { what: "the shell wall, in diameters", usual: (0.02, 0.08), possible: (0.012, 0.12) };
/// Housing bore over journal diameter: one, and twice the wall.
const HOUSING: Family =
    Family { what: "the housing, in journal diameters", usual: (1.04, 1.16), possible: (1.02, 1.3) };

/// Widest published size band is 0.003 in (TM 5-2815-241-34&P); twice that is queried, and past 0.010 in one edge is
/// misprinted.
const WIDE_BAND_MM: f64 = 0.006 * 25.4;
const IMPOSSIBLE_BAND_MM: f64 = 0.010 * 25.4;

/// Housing bands are published 0.001 in wide (TM 9-6115-604-34), wall bands 0.0005 in and 0.013 mm; at ten times that
/// one edge is misprinted.
const HOUSING_BAND_MM: (f64, f64) = (0.08, 0.25);
const WALL_BAND_MM: (f64, f64) = (0.03, 0.13);

/// One value to be judged.
struct Value<'a> {
    key: &'a str,
    /// As it stands on the page.
    found: String,
    /// In the family's terms.
    value: f64,
    /// What turns one of the family's terms into a length, for showing; `None` for ratios and degrees.
    shown_in: Option<Unit>,
    source: Option<&'a String>,
}

impl Family {
    fn judge(&self, book: &mut Book<'_>, value: &Value<'_>) {
        let Value { key, found, value, shown_in, source } = value;
        let within = |(low, high): (f64, f64)| (low * (1.0 - 1e-9)..=high * (1.0 + 1e-9)).contains(value);
        if !value.is_finite() || within(self.usual) {
            return;
        }
        let show = |value: f64| match shown_in {
            Some(unit) => short(value, *unit),
            None => format!("{value}"),
        };
        let words = Words {
            key: (*key).to_owned(),
            found: found.clone(),
            expected: format!("{} of {} to {}", self.what, show(self.usual.0), show(self.usual.1)),
            cause: self.likely(*value, *shown_in),
        };
        if within(self.possible) {
            book.query(words, *source);
        } else {
            book.out_of_family(words, *source);
        }
    }

    /// The simplest slip that explains a value out of family.
    fn likely(&self, value: f64, unit: Option<Unit>) -> String {
        let fits = |factor: f64| (self.usual.0..=self.usual.1).contains(&(value * factor));
        let typed_in_other = if unit == Some(Unit::Inch) { 1.0 / 25.4 } else { 25.4 };
        let tries = [
            (10.0, "a decimal point one place out (ten times too small)"),
            (0.1, "a decimal point one place out (ten times too large)"),
            (typed_in_other, "typed in the other unit"),
            (0.001, "typed in thousandths"),
            (100.0, "a decimal point two places out"),
            (0.01, "a decimal point two places out"),
        ];
        if value < 0.0 {
            return "the sign is wrong".to_owned();
        }
        if value == 0.0 {
            return "nobody can work to nothing: the value was left out".to_owned();
        }
        let fitting: Vec<&str> = tries.iter().filter(|(factor, _)| fits(*factor)).map(|(_, cause)| *cause).collect();
        match fitting.as_slice() {
            [] => "out of family: a misprint, or the wrong line of the table".to_owned(),
            causes => causes.join(", or "),
        }
    }
}

/// The end of a family's range: two figures, for a range is not known better.
fn short(mm: f64, unit: Unit) -> String {
    let value = mm / unit.mm();
    let digits = 10f64.powi(1 - value.abs().log10().floor() as i32);
    plain((value * digits).round() / digits * unit.mm(), unit)
}

/// A limit in millimetres against a family.
pub(super) fn judge_limit(book: &mut Book<'_>, key: &str, limit: &PrintedLimit, family: &Family) {
    let Some((unit, number)) = limit.column(book.unit) else { return };
    let value = Value {
        key,
        found: number.text(unit),
        value: number.value * unit.mm(),
        shown_in: Some(unit),
        source: limit.source.as_ref(),
    };
    family.judge(book, &value);
}

/// A limit over a diameter against a family of ratios.
fn judge_ratio(book: &mut Book<'_>, key: &str, found: String, value: f64, family: &Family) {
    family.judge(book, &Value { key, found, value, shown_in: None, source: None });
}

/// The text of a band, as printed.
pub(super) fn band_text(columns: &[PrintedBand], unit: Unit) -> String {
    let Some(band) = PrintedBand::in_columns(columns, unit) else { return String::new() };
    let edges: Vec<String> = band.low.iter().chain(&band.high).map(|number| number.text(band.unit)).collect();
    edges.join(" to ")
}

/// Limits in millimetres.
pub(super) fn band_of(columns: &[PrintedBand], unit: Unit) -> Option<Band> {
    PrintedBand::in_columns(columns, unit)
        .and_then(PrintedBand::band)
        .filter(|band| band.low_mm.is_finite() && band.high_mm.is_finite())
}

/// One set by itself.
pub(super) fn set(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let unit = book.unit;
    let key = |part: &str| format!("{name}.{part}");
    if let Some(limit) = &set.out_of_round {
        judge_limit(book, &key("out_of_round"), limit, &OUT_OF_ROUND);
    }
    if let Some(limit) = &set.taper {
        taper(book, &key("taper"), limit);
    }
    // The published limits of the two families are some of them for new journals and some for worn ones.
    if let Some(limit) = &set.wear_out_of_round {
        judge_limit(book, &key("wear_limit.out_of_round"), limit, &OUT_OF_ROUND);
    }
    if let Some(limit) = &set.wear_taper {
        taper(book, &key("wear_limit.taper"), limit);
    }
    if let Some(limit) = &set.run_out {
        run_out(book, name, limit);
    }
    if let Some(limit) = &set.roughness {
        roughness(book, &key("roughness"), limit);
    }
    for (part, columns, widths) in [("housing", &set.housing, HOUSING_BAND_MM), ("wall", &set.wall, WALL_BAND_MM)] {
        if let Some(band) = band_of(columns, unit) {
            band_width(book, &key(part), &band_text(columns, unit), band.width_mm(), widths, None);
        }
    }
    both_edges(book, &key("fillet"), &set.fillet, &FILLET, &FILLET);
    both_edges(book, &key("thrust"), &set.thrust, &END_FLOAT_LOW, &END_FLOAT_HIGH);
    sizes(book, name, set);
    let standard_row = set.steps.iter().find(|step| step.undersize.mm(unit) == Some(0.0));
    let diameter = band_of(&set.size, unit).or_else(|| standard_row.and_then(|step| band_of(&step.size, unit)));
    let Some(diameter) = diameter.map(Band::middle_mm).filter(|mm| *mm > 0.0) else { return };
    let by_diameter = |mm: f64| mm / diameter;
    if let Some((limit, mm)) = set.length.as_ref().and_then(|limit| Some((limit, limit.mm(unit)?))) {
        let found = limit.column(unit).map_or_else(String::new, |(unit, number)| number.text(unit));
        judge_ratio(book, &key("length"), found, by_diameter(mm), &LENGTH);
    }
    for (part, columns, family) in
        [("width", &set.width, &LENGTH), ("wall", &set.wall, &WALL), ("housing", &set.housing, &HOUSING)]
    {
        let Some(band) = band_of(columns, unit) else { continue };
        let found = band_text(columns, unit);
        for mm in [band.low_mm, band.high_mm] {
            judge_ratio(book, &key(part), found.clone(), by_diameter(mm), family);
        }
    }
    if let Some(band) = band_of(&set.clearance, unit) {
        let found = band_text(&set.clearance, unit);
        judge_ratio(book, &key("clearance"), found.clone(), by_diameter(band.middle_mm()), &CLEARANCE);
        judge_ratio(book, &key("clearance"), found, by_diameter(band.high_mm), &CLEARANCE_HIGH);
    }
}

/// A taper limit, per journal or per unit of length.
fn taper(book: &mut Book<'_>, key: &str, limit: &PrintedLimit) {
    if limit.sense.as_deref() != Some("length") {
        judge_limit(book, key, limit, &TAPER);
        return;
    }
    let Some((unit, number)) = limit.column(book.unit) else { return };
    let (low, high) = TAPER_PER_LENGTH.possible;
    let per_inch = number.value / 25.4;
    if number.value > high && (low..=high).contains(&per_inch) && unit == Unit::Millimetre {
        let words = Words {
            key: key.to_owned(),
            found: format!("{} for each mm of length", number.text(unit)),
            expected: format!("{} to {} for each mm", TAPER_PER_LENGTH.usual.0, TAPER_PER_LENGTH.usual.1),
            cause: "the number counts for 25.4 mm of length, as books converted from inches print it".to_owned(),
        };
        book.out_of_family(words, limit.source.as_ref());
        return;
    }
    let found = format!("{} for each {unit}", number.text(unit));
    let value = Value { key, found, value: number.value, shown_in: None, source: limit.source.as_ref() };
    TAPER_PER_LENGTH.judge(book, &value);
}

/// A run-out limit as total or as bend.
fn run_out(book: &mut Book<'_>, name: SetName, limit: &PrintedLimit) {
    let key = format!("{name}.run_out");
    let Some((unit, number)) = limit.column(book.unit) else { return };
    let bend = limit.sense.as_deref() == Some("bend");
    let total_mm = number.value * unit.mm() * if bend { 2.0 } else { 1.0 };
    let found = format!("{}{}", number.text(unit), if bend { " of bend" } else { "" });
    let value = Value { key: &key, found, value: total_mm, shown_in: Some(unit), source: limit.source.as_ref() };
    RUN_OUT.judge(book, &value);
    if name == SetName::Pin {
        let words = Words {
            key,
            found: number.text(unit),
            expected: "no run-out limit for pins".to_owned(),
            cause: "run-out is measured on the mains".to_owned(),
        };
        book.query(words, limit.source.as_ref());
    }
}

/// Roughness in the document's unit of length. Microinches or microns typed as they stand are understood.
fn roughness(book: &mut Book<'_>, key: &str, limit: &PrintedLimit) {
    let Some((unit, number)) = limit.column(book.unit) else { return };
    if let Some(as_small) = understood_mm(unit, number.value) {
        let small = if unit == Unit::Inch { "microinches" } else { "microns" };
        let words = Words {
            key: key.to_owned(),
            found: number.text(unit),
            expected: plain(as_small, unit),
            cause: format!("typed in {small}, not in {unit}"),
        };
        book.query(words, limit.source.as_ref());
    } else {
        judge_limit(book, key, limit, &ROUGHNESS);
    }
}

/// A roughness that was typed in microinches or microns as it stands, where the length is one in inches or millimetres: what it
/// means, in millimetres. Nothing where it is a length as it should be, or no roughness at all.
pub(crate) fn understood_mm(unit: Unit, value: f64) -> Option<f64> {
    let as_small = value * if unit == Unit::Inch { 25.4e-6 } else { 1e-3 };
    let (low, high) = ROUGHNESS.possible;
    (value >= 0.03 && (low..=high).contains(&as_small)).then_some(as_small)
}

/// Both edges of a band, each against its family.
pub(super) fn both_edges(book: &mut Book<'_>, key: &str, columns: &[PrintedBand], low: &Family, high: &Family) {
    let Some(band) = PrintedBand::in_columns(columns, book.unit) else { return };
    for (number, family) in [(&band.low, low), (&band.high, high)] {
        let Some(number) = number else { continue };
        let (found, mm) = (number.text(band.unit), number.value * band.unit.mm());
        family.judge(book, &Value { key, found, value: mm, shown_in: Some(band.unit), source: None });
    }
}

/// Sizes as diameters, and how wide their bands are.
fn sizes(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let mut all: Vec<(String, &[PrintedBand], Option<&String>)> = vec![(format!("{name}.size"), &set.size, None)];
    all.extend(
        (1..)
            .zip(&set.steps)
            .map(|(row, step)| (format!("{name}.step[{row}].size"), step.size.as_slice(), step.source.as_ref())),
    );
    let unit = book.unit;
    let smallest_step =
        set.undersizes.iter().filter_map(|limit| limit.mm(unit)).filter(|mm| *mm > 0.0).fold(f64::INFINITY, f64::min);
    for (key, columns, source) in all {
        let Some(band) = band_of(columns, unit) else { continue };
        let found = band_text(columns, unit);
        for mm in [band.low_mm, band.high_mm] {
            let value = Value { key: &key, found: found.clone(), value: mm, shown_in: Some(unit), source };
            DIAMETER.judge(book, &value);
        }
        let width = band.width_mm();
        if !band_width(book, &key, &found, width, (WIDE_BAND_MM, IMPOSSIBLE_BAND_MM), source) && width > smallest_step {
            let words = Words {
                key: key.clone(),
                found: format!("{found}, {} wide", plain(width, unit)),
                expected: format!("a band narrower than the smallest undersize, {}", plain(smallest_step, unit)),
                cause: "a journal could be within limits at two undersizes".to_owned(),
            };
            book.query(words, source);
        }
    }
}

/// Judges how wide a band is against a width that is queried and one that cannot be; whether it said anything.
fn band_width(
    book: &mut Book<'_>,
    key: &str,
    found: &str,
    width_mm: f64,
    (wide_mm, impossible_mm): (f64, f64),
    source: Option<&String>,
) -> bool {
    let unit = book.unit;
    let words = |cause: &str| Words {
        key: key.to_owned(),
        found: format!("{found}, {} wide", plain(width_mm, unit)),
        expected: format!("a band of at the most {}", plain(wide_mm, unit)),
        cause: cause.to_owned(),
    };
    if width_mm > impossible_mm {
        book.out_of_family(words("one of the two limits is misprinted"), source);
    } else if width_mm > wide_mm {
        book.query(words("one of the two limits may be misprinted"), source);
    }
    width_mm > wide_mm
}

/// The crank as a whole: throw, tolerances, treatment, and the sets against each other.
pub(super) fn whole(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let unit = book.unit;
    let middle = |set: &PrintedSet| {
        let row = set.steps.iter().find(|step| step.undersize.mm(unit) == Some(0.0));
        band_of(&set.size, unit).or_else(|| row.and_then(|step| band_of(&step.size, unit))).map(Band::middle_mm)
    };
    let (main, pin) = (middle(&printed.main), middle(&printed.pin));
    if let (Some(main), Some(pin)) = (main, pin.filter(|pin| *pin > 0.0)) {
        let found = band_text(&printed.main.size, unit);
        judge_ratio(book, "main.size", found, main / pin, &MAIN_TO_PIN);
    }
    if let Some(limit) = &printed.throw {
        judge_limit(book, "throw", limit, &THROW);
        if let (Some((unit, number)), Some(pin)) = (limit.column(unit), pin.filter(|pin| *pin > 0.0)) {
            judge_ratio(book, "throw", number.text(unit), number.value * unit.mm() / pin, &THROW_TO_PIN);
        }
    }
    // No tolerance at all is a plain thing to say: nothing may be spent.
    if let Some(limit) = printed.throw_tolerance.as_ref().filter(|limit| limit.mm(unit) != Some(0.0)) {
        judge_limit(book, "throw_tolerance", limit, &THROW_TOLERANCE);
    }
    if let Some(degrees) = printed.index_tolerance_deg {
        index_tolerance(book, degrees);
    }
}

/// The wider end of a pair of limits of the throw.
pub(super) fn throw_tolerance(book: &mut Book<'_>, key: &str, found: String, most_mm: f64) {
    if most_mm > 0.0 {
        THROW_TOLERANCE.judge(book, &Value { key, found, value: most_mm, shown_in: None, source: None });
    }
}

fn index_tolerance(book: &mut Book<'_>, degrees: f64) {
    let key = "index_tolerance";
    let found = format!("{degrees} degrees");
    if !degrees.is_finite() || degrees < 0.0 {
        let words = Words {
            key: key.to_owned(),
            found,
            expected: "degrees, zero or more".to_owned(),
            cause: "a tolerance is stated without a sign".to_owned(),
        };
        book.fault(words, None);
    } else if degrees > 0.0 {
        INDEX_TOLERANCE.judge(book, &Value { key, found, value: degrees, shown_in: None, source: None });
    }
}
