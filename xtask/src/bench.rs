//! The speed table: what the program must keep to, measured in one run on one machine.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use crate::tools::{self, cargo, command, output, root, run as start};

/// How often each whole process is run; the median counts.
const RUNS: u32 = 15;
/// How many programmes are put to HiGHS one by one; the rest is scaled.
const PROGRAMMES: u32 = 200;
/// What the sheets of the benchmark ask for.
const DRAWS: u32 = 20_000;
/// Pairs of undersizes of the traced sheet.
const PAIRS: u32 = 25;

/// One line of the table.
struct Row {
    what: &'static str,
    measured: String,
    bound: &'static str,
    kept: bool,
}

/// Measures everything, prints the table and writes it to `docs/benchmarks.md`.
///
/// # Errors
/// A program that could not be run, or a bound that was not kept; the table is written all the same.
pub(crate) fn run() -> Result<(), String> {
    let python = tools::python()?;
    start(cargo().args(["build", "--release", "--locked", "--package", "tenunder"]))?;
    let mut rows = measure(&python)?;
    rows.extend(film(&python)?);
    rows.extend(pages(&python)?);
    rows.extend(papers(&python)?);
    let page = page(&rows);
    print!("{page}");
    let file = root().join("docs/benchmarks.md");
    std::fs::create_dir_all(root().join("docs")).map_err(|error| format!("docs: {error}"))?;
    std::fs::write(&file, page).map_err(|error| format!("{}: {error}", file.display()))?;
    let missed: Vec<&str> = rows.iter().filter(|row| !row.kept).map(|row| row.what).collect();
    if missed.is_empty() { Ok(()) } else { Err(format!("not kept: {}", missed.join("; "))) }
}

/// What the benches of one room print.
fn benches(room: &str, file: &str) -> Result<String, String> {
    output(cargo().args(["bench", "--quiet", "--package", room, "--bench", file]))
}

/// The median of one part's bench, in milliseconds.
fn median_ms(printed: &str, part: &str) -> Result<f64, String> {
    let named = |line: &&str| line.split_whitespace().any(|word| word == part);
    let line = printed.lines().find(named).unwrap_or_default();
    let median = line.split('│').nth(2).map(str::trim).unwrap_or_default();
    let (figure, unit) = median.split_once(' ').unwrap_or_default();
    let scale = match unit {
        "s" => 1000.0,
        "ms" => 1.0,
        "µs" => 0.001,
        _ => return Err(format!("no median of {part} in {printed:?}")),
    };
    figure.parse::<f64>().map(|figure| figure * scale).map_err(|error| format!("{median:?}: {error}"))
}

fn measure(python: &Path) -> Result<Vec<Row>, String> {
    let library = root().join("crates/tenunder/library");
    let diameters = library.join("tarn-four-72.toml");
    let traced = library.join("tarn-four-traced.toml");
    let once = traced_once(&traced)?;

    let spares_ms = median_ms(&benches("regrind", "parts")?, "spare_of_all_pairs")?;
    let held = process(python, &diameters)?;
    let whole = process(python, &traced)?;
    let least = process(python, &once)?;
    let mut highs = command(python);
    highs.arg("checks/time_highs.py").arg(&traced).arg(PROGRAMMES.to_string());
    let highs_ms = number(&output(&mut highs)?, "ms_each")?;

    // What a process takes with one draw is its start, the sheet, and the spare of all pairs; the rest is the draws.
    let draws_s = whole.median_s - least.median_s;
    let highs_s = highs_ms / 1000.0 * f64::from(DRAWS) * f64::from(PAIRS);
    let ratio = highs_s / draws_s;
    Ok(vec![
        Row {
            what: "72 diameters, axis held, 20,000 draws: whole process",
            measured: format!("{:.1} ms", 1000.0 * held.median_s),
            bound: "120 ms",
            kept: held.median_s <= 0.120,
        },
        Row {
            what: "the same: peak memory",
            measured: format!("{:.1} MB", held.peak_mb),
            bound: "60 MB",
            kept: held.peak_mb <= 60.0,
        },
        Row {
            what: "648 traced points, axis free: spare of all 25 pairs",
            measured: format!("{spares_ms:.1} ms"),
            bound: "10 ms",
            kept: spares_ms <= 10.0,
        },
        Row {
            what: "the same, whole process with one draw and true geometry",
            measured: format!("{:.1} ms", 1000.0 * least.median_s),
            bound: "none",
            kept: true,
        },
        Row {
            what: "the same with 20,000 draws: whole process",
            measured: format!("{:.2} s", whole.median_s),
            bound: "1.5 s",
            kept: whole.median_s <= 1.5,
        },
        Row {
            what: "joint chance of all 25 pairs from 20,000 draws (difference of the two)",
            measured: format!("{draws_s:.2} s"),
            bound: "2 s on two cores",
            kept: draws_s <= 2.0,
        },
        Row {
            what: "SciPy's HiGHS, one programme (200 timed)",
            measured: format!("{highs_ms:.2} ms"),
            bound: "none",
            kept: true,
        },
        Row {
            what: "HiGHS on the same 500,000 programmes one by one (scaled), against the joint chance",
            measured: format!("{ratio:.0} times"),
            bound: "1,000 times",
            kept: ratio >= 1000.0,
        },
    ])
}

/// The oil film, beside SciPy's sparse direct solver on the same equations.
fn film(python: &Path) -> Result<Vec<Row>, String> {
    let ours = benches("film", "film")?;
    let mut timed = command(python);
    timed.arg("checks/time_film.py");
    let theirs = output(&mut timed)?;
    let broken_ms = median_ms(&ours, "broken_film_181_by_41")?;
    let curve_ms = median_ms(&ours, "fifty_clearances")?;
    let (known_ms, new_ms) =
        (median_ms(&ours, "whole_answer_shapes_known")?, median_ms(&ours, "whole_answer_shapes_new")?);
    let engine_ms = median_ms(&ours, "all_bearings_of_a_four")?;
    let unbroken_ms = median_ms(&ours, "unbroken_film_181_by_41")?;
    let row =
        |what, measured: f64, unit, bound, kept| Row { what, measured: format!("{measured:.2} {unit}"), bound, kept };
    let times =
        |what, ratio: f64| Row { what, measured: format!("{ratio:.0} times"), bound: "50 times", kept: ratio >= 50.0 };
    Ok(vec![
        row("oil film on 181 × 41 points, broken where it breaks", broken_ms, "ms", "2 ms", broken_ms <= 2.0),
        row("all bearings of a four over a converged cycle", engine_ms, "ms", "150 ms", engine_ms <= 150.0),
        row(
            "least film and hot idle pressure at fifty clearances",
            curve_ms,
            "ms",
            "50 ms on two cores",
            curve_ms <= 50.0,
        ),
        row("whole oil answer, bearings of new shapes", new_ms, "ms", "80 ms on two cores", new_ms <= 80.0),
        row("the same, shapes known", known_ms, "ms", "50 ms on two cores", known_ms <= 50.0),
        times("SciPy's sparse direct solver on the same film, unbroken", number(&theirs, "linear_ms")? / unbroken_ms),
        times("the same, broken (found by as many solutions as it takes)", number(&theirs, "broken_ms")? / broken_ms),
    ])
}

/// The pages over a shop's lifetime of work: 10,000 jobs with 1,000,000 readings in SQLite.
fn pages(python: &Path) -> Result<Vec<Row>, String> {
    let record = tools::target().join("bench/pages.tenunder");
    for ending in ["", "-wal", "-shm", ".key"] {
        // Left over from the last run, where there was one.
        let _ = std::fs::remove_file(record.with_extension(format!("tenunder{ending}")));
    }
    let mut fill = cargo();
    fill.args(["run", "--quiet", "--release", "--locked", "--package", "shop", "--example", "load", "--"]);
    start(fill.arg(&record).args(["10000", "100", "fill"]))?;
    let mut timed = command(python);
    timed.arg("checks/time_pages.py").arg(tools::target().join("release/tenunder")).arg(&record);
    let said = output(&mut timed)?;
    let row = |what, key, unit, bound, most: f64| -> Result<Row, String> {
        let measured = number(&said, key)?;
        Ok(Row { what, measured: format!("{measured:.1} {unit}"), bound, kept: measured <= most })
    };
    Ok(vec![
        row("10,000 jobs of 100 readings: start to first page", "start_ms", "ms", "300 ms", 300.0)?,
        row("the same: the list of jobs, p95", "list_p95_ms", "ms", "100 ms", 100.0)?,
        row("the same, 20 people entering: Enter to saved and judged, p99", "enter_p99_ms", "ms", "20 ms", 20.0)?,
        row("verdict so far of an eight-cylinder crank, p95", "verdict_p95_ms", "ms", "150 ms", 150.0)?,
        row("memory of the pages at its highest", "peak_mb", "MB", "120 MB", 120.0)?,
    ])
}

/// The grinder's sheet, from a server that has been asked before and from a process of its own.
fn papers(python: &Path) -> Result<Vec<Row>, String> {
    let mut timed = command(python);
    timed.arg("checks/time_papers.py").arg(tools::target().join("release/tenunder"));
    let said = output(&mut timed)?;
    let row = |what, key, bound, most: f64| -> Result<Row, String> {
        let measured = number(&said, key)?;
        Ok(Row { what, measured: format!("{measured:.1} ms"), bound, kept: measured <= most })
    };
    Ok(vec![
        row("sheet for the grinder as PDF from a warm server, p95", "served_p95_ms", "400 ms", 400.0)?,
        row("the same from the command line: whole process", "process_ms", "1 s", 1000.0)?,
    ])
}

/// A copy of the traced sheet that asks for a single draw.
fn traced_once(traced: &Path) -> Result<PathBuf, String> {
    let text = std::fs::read_to_string(traced).map_err(|error| format!("{}: {error}", traced.display()))?;
    let wanted = format!("draws = {DRAWS}");
    if !text.contains(&wanted) {
        return Err(format!("{} does not say {wanted:?}", traced.display()));
    }
    let folder = tools::target().join("bench");
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let specification = "tarn-four.toml";
    let beside = traced.with_file_name(specification);
    std::fs::copy(&beside, folder.join(specification)).map_err(|error| format!("{}: {error}", beside.display()))?;
    let once = folder.join("traced-once.toml");
    std::fs::write(&once, text.replace(&wanted, "draws = 1"))
        .map_err(|error| format!("{}: {error}", once.display()))?;
    Ok(once)
}

/// What the runs of one process came to.
struct Process {
    median_s: f64,
    peak_mb: f64,
}

fn process(python: &Path, sheet: &Path) -> Result<Process, String> {
    let mut timed = command(python);
    timed.arg("checks/time_process.py").arg(RUNS.to_string());
    timed.arg(tools::target().join("release/tenunder")).arg("assess").arg(sheet).arg("--json");
    let said = output(&mut timed)?;
    Ok(Process { median_s: number(&said, "median_s")?, peak_mb: number(&said, "peak_mb")? })
}

/// The number behind a key in one line of JSON that our own scripts printed.
fn number(json: &str, key: &str) -> Result<f64, String> {
    let behind = json.split_once(&format!("\"{key}\": ")).map(|(_, rest)| rest);
    let digits = behind.and_then(|rest| rest.split([',', '}']).next());
    digits.and_then(|text| text.trim().parse().ok()).ok_or_else(|| format!("no {key} in {json}"))
}

fn page(rows: &[Row]) -> String {
    let mut page = format!(
        "# Speed\n\nWritten by `cargo xtask bench` on {}. Whole processes are run {RUNS} times, and the median counts.\n\n\
         | what | measured | bound | |\n|---|---|---|---|\n",
        machine()
    );
    for row in rows {
        let kept = if row.bound == "none" {
            ""
        } else if row.kept {
            "kept"
        } else {
            "NOT KEPT"
        };
        // Writing to a string cannot fail.
        let _ = writeln!(page, "| {} | {} | {} | {kept} |", row.what, row.measured, row.bound);
    }
    page
}

/// The processor and its cores, as Linux names them.
pub(crate) fn machine() -> String {
    let information = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = information.lines().find_map(|line| line.strip_prefix("model name")?.split_once(": "));
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    format!("{}, {cores} cores", model.map_or("an unnamed processor", |(_, name)| name))
}
