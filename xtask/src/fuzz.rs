//! Fuzzing of the two readers, from the kept corpus.
//!
//! libFuzzer is linked in through `libfuzzer-sys` and told what was reached by LLVM's coverage counters. Everything here
//! is stable Rust: the counters are asked for with `-C` flags, and no sanitizer is used, for the product has no unsafe
//! code that one could watch.

use std::path::PathBuf;
use std::process::Command;
use std::time::{SystemTime, UNIX_EPOCH};

use crate::tools::{self, cargo, command, output, root, run as start};

/// The counters, and no more codegen units than one so that the linker keeps their tables together.
const FLAGS: &str = "-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
    -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
    -Cllvm-args=-sanitizer-coverage-trace-compares -Ccodegen-units=1";

/// The fuzz targets, each with the longest input worth trying.
const READERS: [(&str, u32); 2] = [("length", 128), ("sheet", 16_384)];

/// Most seconds that one input may take, and most memory. A 50 MB file is refused before it is read.
const INPUT_S: u32 = 10;
const MEMORY_MB: u32 = 1024;

/// Fuzzes for so many seconds in all.
///
/// # Errors
/// What was found; the input lies in `fuzz/found`.
pub(crate) fn run(seconds: u64) -> Result<(), String> {
    tools::compiler()?;
    let host = host()?;
    let mut build = fuzz_cargo("build");
    // Naming the target keeps the counters out of build scripts and procedural macros.
    build.env("RUSTFLAGS", FLAGS).args(["--release", "--target", &host]);
    start(&mut build)?;

    let seed = SystemTime::now().duration_since(UNIX_EPOCH).map_or(1, |since| since.as_secs() % 1_000_000_000);
    let found = root().join("fuzz/found");
    make(&found)?;
    for (reader, longest) in READERS {
        let grown = tools::target().join("fuzz-corpus").join(reader);
        make(&grown)?;
        let each_s = (seconds / READERS.len() as u64).max(1);
        println!("fuzzing the {reader} reader for {each_s} s, seed {seed}");
        let mut fuzzer = command(folder().join(&host).join("release").join(reader));
        fuzzer
            .arg(format!("-seed={seed}"))
            .arg(format!("-max_total_time={each_s}"))
            .arg(format!("-max_len={longest}"))
            .arg(format!("-timeout={INPUT_S}"))
            .arg(format!("-rss_limit_mb={MEMORY_MB}"))
            .arg(format!("-artifact_prefix={}/{reader}-", found.display()))
            .args(["-verbosity=0", "-print_final_stats=1"]);
        let words = root().join("fuzz").join(format!("{reader}.dict"));
        if words.exists() {
            fuzzer.arg(format!("-dict={}", words.display()));
        }
        // New inputs go to the first folder; the kept corpus is only read.
        fuzzer.arg(&grown).arg(root().join("fuzz/corpus").join(reader));
        // libFuzzer ends with pages about its own dictionary; only the counts are wanted, unless something was found.
        let log = tools::target().join("fuzz-corpus").join(format!("{reader}.log"));
        let file = std::fs::File::create(&log).map_err(|error| format!("{}: {error}", log.display()))?;
        let outcome = start(fuzzer.stderr(file));
        let said = std::fs::read(&log).map_err(|error| format!("{}: {error}", log.display()))?;
        let said = String::from_utf8_lossy(&said);
        if let Err(error) = outcome {
            return Err(format!("{said}\nthe {reader} reader: the input lies in fuzz/found ({error})"));
        }
        said.lines().filter(|line| line.starts_with("stat::")).for_each(|line| println!("{line}"));
    }
    Ok(())
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
