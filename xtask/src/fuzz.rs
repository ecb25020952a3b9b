//! Fuzzing of what reads and of what answers, from the kept corpora.
//!
//! libFuzzer is linked in through `libfuzzer-sys` and told what was reached by LLVM's coverage counters. Everything here
//! is stable Rust: the counters are asked for with `-C` flags, and no sanitizer is used, for the product has no unsafe
//! code that one could watch.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{SystemTime, UNIX_EPOCH};

use crate::tools::{self, cargo, command, output, root, run as start};

/// The counters, and no more codegen units than one so that the linker keeps their tables together.
const FLAGS: &str = "-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
    -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
    -Cllvm-args=-sanitizer-coverage-trace-compares -Ccodegen-units=1";

/// The fuzz targets, each with the longest input worth trying: the readers, then whole answers to what was read.
const TARGETS: [(&str, u32); 6] =
    [("length", 128), ("sheet", 16_384), ("book", 4_096), ("assess", 512), ("fit", 512), ("film", 512)];

/// Most seconds of a processor that one input may take, and most memory. A 50 MB file is refused before it is read.
const INPUT_S: u32 = 2;
const MEMORY_MB: u32 = 500;
/// Most seconds by the clock before an input is given up: on a busy machine a short one waits long.
const GIVEN_UP_S: u32 = 60;

/// Fuzzes for so many seconds in all, every target or one.
///
/// # Errors
/// What was found; the input lies in `fuzz/found`.
pub(crate) fn run(seconds: u64, only: Option<&str>) -> Result<(), String> {
    let targets: Vec<(&str, u32)> =
        TARGETS.into_iter().filter(|(target, _)| only.is_none_or(|only| only == *target)).collect();
    if targets.is_empty() {
        return Err(format!("the fuzz targets are {}", TARGETS.map(|(target, _)| target).join(", ")));
    }
    tools::compiler()?;
    let host = host()?;
    let mut build = fuzz_cargo("build");
    // Naming the target keeps the counters out of build scripts and procedural macros.
    build.env("RUSTFLAGS", FLAGS).args(["--release", "--target", &host]);
    start(&mut build)?;

    let seed = SystemTime::now().duration_since(UNIX_EPOCH).map_or(1, |since| since.as_secs() % 1_000_000_000);
    let each_s = (seconds / targets.len() as u64).max(1);
    println!(
        "{each_s} s for each target, seed {seed}; more than {INPUT_S} s or {MEMORY_MB} MB for one input is a find"
    );
    let mut found = Vec::new();
    for (target, longest) in targets {
        match one(target, longest, each_s, seed, &host) {
            Ok((now, ever)) => println!("{target:<10}{now:>12} inputs now{ever:>14} here in all"),
            Err(what) => found.push(what),
        }
    }
    if found.is_empty() { Ok(()) } else { Err(found.join("\n")) }
}

/// Fuzzes one target; how many inputs it was given now, and on this machine in all.
fn one(target: &str, longest: u32, seconds: u64, seed: u64, host: &str) -> Result<(u64, u64), String> {
    let found = root().join("fuzz/found");
    make(&found)?;
    let here = tools::target().join("fuzz-corpus");
    let grown = here.join(target);
    make(&grown)?;
    let program = folder().join(host).join("release").join(target);
    let mut fuzzer = command(&program);
    fuzzer
        .arg(format!("-seed={seed}"))
        .arg(format!("-max_total_time={seconds}"))
        .arg(format!("-max_len={longest}"))
        .arg(format!("-timeout={GIVEN_UP_S}"))
        .arg(format!("-report_slow_units={INPUT_S}"))
        .arg(format!("-rss_limit_mb={MEMORY_MB}"))
        .arg(format!("-artifact_prefix={}/{target}-", found.display()))
        .args(["-verbosity=0", "-print_final_stats=1"]);
    let words = root().join("fuzz").join(format!("{target}.dict"));
    if words.exists() {
        fuzzer.arg(format!("-dict={}", words.display()));
    }
    // New inputs go to the first folder; the kept corpus is only read.
    fuzzer.arg(&grown).arg(root().join("fuzz/corpus").join(target));
    // libFuzzer ends with pages about its own dictionary; only the counts are wanted, unless something was found.
    let log = here.join(format!("{target}.log"));
    let read = |file: &Path| std::fs::read(file).map(|said| String::from_utf8_lossy(&said).into_owned());
    let file = std::fs::File::create(&log).map_err(|error| format!("{}: {error}", log.display()))?;
    let outcome = start(fuzzer.stderr(file));
    let said = read(&log).map_err(|error| format!("{}: {error}", log.display()))?;
    if let Err(error) = outcome {
        return Err(format!("{said}\n{target}: the input lies in fuzz/found ({error})"));
    }
    let slow = slow_inputs(&program, &found, &format!("{target}-slow-unit-"))?;
    if !slow.is_empty() {
        return Err(format!("{target}: more than {INPUT_S} s of a processor for {}", slow.join(", ")));
    }
    let count = |line: &str| line.strip_prefix("stat::number_of_executed_units:").and_then(|n| n.trim().parse().ok());
    let now: u64 = said.lines().find_map(count).unwrap_or(0);
    let counted = here.join(format!("{target}.count"));
    let before: u64 = read(&counted).ok().and_then(|text| text.trim().parse().ok()).unwrap_or(0);
    std::fs::write(&counted, (before + now).to_string()).map_err(|error| format!("{}: {error}", counted.display()))?;
    Ok((now, before + now))
}

/// Of the inputs that took long by the clock, those that take long by the processor, each alone; the others are removed, for
/// another program had the machine.
fn slow_inputs(program: &Path, found: &Path, name: &str) -> Result<Vec<String>, String> {
    let entries = std::fs::read_dir(found).map_err(|error| format!("{}: {error}", found.display()))?;
    let mut slow = Vec::new();
    for file in entries.flatten().map(|entry| entry.path()) {
        if !file.file_name().is_some_and(|of| of.to_string_lossy().starts_with(name)) {
            continue;
        }
        let before = processor_s();
        start(command(program).arg(&file).stdout(Stdio::null()).stderr(Stdio::null()))?;
        if processor_s() - before > f64::from(INPUT_S) {
            slow.push(file.display().to_string());
        } else {
            std::fs::remove_file(&file).map_err(|error| format!("{}: {error}", file.display()))?;
        }
    }
    Ok(slow)
}

/// Seconds of a processor that the programs started here have used, as Linux counts them (a hundred ticks a second); by the
/// clock where it does not.
fn processor_s() -> f64 {
    let line = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // What follows the name, which may hold blanks: cutime and cstime are its 14th and 15th.
    let fields: Vec<&str> = line.rsplit(')').next().unwrap_or_default().split_whitespace().collect();
    let ticks = |at: usize| fields.get(at).and_then(|ticks| ticks.parse::<f64>().ok());
    match (ticks(13), ticks(14)) {
        (Some(user), Some(system)) => (user + system) / 100.0,
        _ => SystemTime::now().duration_since(UNIX_EPOCH).map_or(0.0, |since| since.as_secs_f64()),
    }
}

/// The fuzz targets are a workspace of their own, so they are linted on their own.
///
/// # Errors
/// Whatever clippy found.
pub(crate) fn lint() -> Result<(), String> {
    tools::compiler()?;
    start(fuzz_cargo("clippy").args(["--", "-D", "warnings"]))
}

fn fuzz_cargo(what: &str) -> Command {
    let mut cargo = cargo();
    // A folder of its own: other flags in the product's would have it rebuilt each time.
    cargo.env("CARGO_TARGET_DIR", folder()).args([what, "--locked", "--manifest-path", "fuzz/Cargo.toml"]);
    cargo
}

fn folder() -> PathBuf {
    tools::target().join("fuzz")
}

fn make(folder: &PathBuf) -> Result<(), String> {
    std::fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))
}

/// The triple of this machine.
fn host() -> Result<String, String> {
    let said = output(command("rustc").arg("-vV"))?;
    let host = said.lines().find_map(|line| line.strip_prefix("host: "));
    host.map(str::to_owned).ok_or_else(|| "rustc -vV names no host".to_owned())
}
