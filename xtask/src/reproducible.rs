//! Whether two builds of one commit, in two folders, are the same file to the last byte: then whoever distrusts a binary builds
//! it again and compares. No path of the computer that built it stands in it either.

use std::path::{Path, PathBuf};

use crate::tools::{as_cargo, command, output, root, run as start, target};

/// Builds the program twice from what is committed, compares, and keeps the file.
///
/// # Errors
/// Where the two differ, a path of this computer stands in them, or the build failed.
pub(crate) fn run() -> Result<(), String> {
    let folder = target().join("reproducible");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    // Names of different lengths: what depends on one would move.
    let [one, other] = ["one", "another-folder"].map(|name| built(&folder.join(name)));
    let (one, other) = (read(&one?)?, read(&other?)?);
    if let Some(at) = (0..one.len().max(other.len())).find(|&at| one.get(at) != other.get(at)) {
        return Err(format!(
            "two builds of one commit differ: {} and {} bytes, the first difference at byte {at}",
            one.len(),
            other.len()
        ));
    }
    for path in [folder.display().to_string(), cargo_home()?.display().to_string()] {
        if let Some(at) = one.windows(path.len()).position(|part| part == path.as_bytes()) {
            return Err(format!("the path {path} of this computer stands in the program, at byte {at}"));
        }
    }
    let kept = folder.join("tenunder");
    std::fs::write(&kept, &one).map_err(|error| format!("{}: {error}", kept.display()))?;
    let sum = output(command("sha256sum").arg(&kept))?;
    println!("two builds in two folders are one file of {} bytes:\n{}", one.len(), sum.trim());
    Ok(())
}

/// Checks the last commit out into a folder and builds the program there.
fn built(folder: &Path) -> Result<PathBuf, String> {
    start(command("git").args(["clone", "--quiet", "--local", "--no-hardlinks"]).arg(root()).arg(folder))?;
    let mut build = as_cargo("cargo");
    build.current_dir(folder).env("CARGO_TARGET_DIR", folder.join("target"));
    build.args(["build", "--release", "--locked", "--package", "tenunder"]);
    // Paths stand in messages of a panic and in what describes the code to a debugger; the libraries in C have theirs too.
    let (here, crates) = (folder.display().to_string(), cargo_home()?.display().to_string());
    let rust = [(here.as_str(), "/tenunder"), (crates.as_str(), "/cargo")]
        .map(|(from, to)| format!("--remap-path-prefix={from}={to}"));
    build.env("CARGO_ENCODED_RUSTFLAGS", rust.join("\u{1f}"));
    build.env("CFLAGS", format!("-ffile-prefix-map={here}=/tenunder -ffile-prefix-map={crates}=/cargo"));
    start(&mut build)?;
    Ok(folder.join("target/release/tenunder"))
}

fn read(file: &Path) -> Result<Vec<u8>, String> {
    std::fs::read(file).map_err(|error| format!("{}: {error}", file.display()))
}

fn cargo_home() -> Result<PathBuf, String> {
    let named = std::env::var_os("CARGO_HOME").map(PathBuf::from);
    let at_home = || std::env::var_os("HOME").map(|home| PathBuf::from(home).join(".cargo"));
    named.or_else(at_home).ok_or_else(|| "neither CARGO_HOME nor HOME is set".to_owned())
}
