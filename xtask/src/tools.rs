//! Running programs, and getting hold of those that the chores need.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The version of nextest that is installed where there is none.
const NEXTEST: &str = "0.9.143";

/// The version of cargo-mutants that is installed where there is none.
const MUTANTS: &str = "27.1.0";

/// The top of the checkout.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

/// Where builds go: what the environment says, else `target` in the checkout.
pub(crate) fn target() -> PathBuf {
    match std::env::var_os("CARGO_TARGET_DIR") {
        Some(named) => root().join(named),
        None => root().join("target"),
    }
}

/// A program to be run from the top of the checkout.
pub(crate) fn command(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(program);
    command.current_dir(root());
    command
}

/// Cargo, without what the cargo that started us told us about ourselves.
pub(crate) fn cargo() -> Command {
    as_cargo("cargo")
}

/// A program that calls cargo itself, with no more told than [`cargo`] is.
pub(crate) fn as_cargo(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut cargo = command(program);
    for (name, _) in std::env::vars_os() {
        let text = name.to_string_lossy();
        if text.starts_with("CARGO_PKG_") || text.starts_with("CARGO_MANIFEST") || text.starts_with("CARGO_BIN") {
            cargo.env_remove(&name);
        }
    }
    // Cargo reads the folder relative to where it runs; we always run it from the top.
    cargo.env("CARGO_TARGET_DIR", target());
    cargo
}

/// Runs a program; an error says which one failed and how.
pub(crate) fn run(command: &mut Command) -> Result<(), String> {
    let name = shown(command);
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{name}: {status}")),
        Err(error) => Err(format!("{name}: {error}")),
    }
}

/// Runs a program and returns what it printed.
pub(crate) fn output(command: &mut Command) -> Result<String, String> {
    let name = shown(command);
    let output = command.stderr(Stdio::inherit()).output().map_err(|error| format!("{name}: {error}"))?;
    if !output.status.success() {
        return Err(format!("{name}: {}", output.status));
    }
    String::from_utf8(output.stdout).map_err(|error| format!("{name}: {error}"))
}

fn shown(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    words.map(|word| word.to_string_lossy()).collect::<Vec<_>>().join(" ")
}

/// Whether a program is there and answers.
pub(crate) fn answers(program: &str, argument: &str) -> bool {
    let asked = command(program).arg(argument).stdout(Stdio::null()).stderr(Stdio::null()).status();
    asked.is_ok_and(|status| status.success())
}

/// Installs Debian packages where we may; elsewhere says what to install.
fn debian(packages: &[&str]) -> Result<(), String> {
    let names = packages.join(" ");
    let root = output(command("id").arg("-u")).is_ok_and(|id| id.trim() == "0");
    if !root || !answers("apt-get", "--version") {
        return Err(format!("please install what Debian calls {names}, and try again"));
    }
    println!("installing {names}");
    run(command("apt-get").args(["-qq", "update"]))?;
    let mut install = command("apt-get");
    install.env("DEBIAN_FRONTEND", "noninteractive");
    run(install.args(["-qq", "-y", "--no-install-recommends", "install"]).args(packages).stdout(Stdio::null()))
}

/// Python in an environment of its own that holds what `checks/requirements.txt` asks for.
pub(crate) fn python() -> Result<PathBuf, String> {
    let wanted = std::fs::read_to_string(root().join("checks/requirements.txt"))
        .map_err(|error| format!("checks/requirements.txt: {error}"))?;
    let folder = target().join("checks-python");
    let python = folder.join("bin/python");
    let installed = folder.join("installed.txt");
    if std::fs::read_to_string(&installed).is_ok_and(|text| text == wanted) && python.exists() {
        return Ok(python);
    }
    let make = |base: &str| run(command(base).args(["-m", "venv", "--clear"]).arg(&folder));
    let made = match base_python() {
        Some(base) => make(base),
        None => Err(String::new()),
    };
    if made.is_err() {
        // Debian keeps the part that makes environments in a package of its own.
        debian(&["python3", "python3-venv"])?;
        let base = base_python().ok_or("the checks need Python 3.11 or later")?;
        make(base)?;
    }
    let mut pip = command(&python);
    pip.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--only-binary", ":all:"]);
    run(pip.args(["--requirement", "checks/requirements.txt"]))?;
    std::fs::write(&installed, wanted).map_err(|error| format!("{}: {error}", installed.display()))?;
    Ok(python)
}

/// A Python that reads TOML by itself (3.11 and later).
fn base_python() -> Option<&'static str> {
    let reads_toml = |name: &&str| {
        let asked = command(name).args(["-c", "import tomllib"]).stderr(Stdio::null()).status();
        asked.is_ok_and(|status| status.success())
    };
    ["python3", "python3.11", "python3.12", "python3.13", "python3.14"].into_iter().find(reads_toml)
}

/// Whether tests can run under nextest, installing it where it is missing.
pub(crate) fn nextest() -> bool {
    if answers("cargo-nextest", "--version") {
        return true;
    }
    println!("installing cargo-nextest {NEXTEST}");
    let mut install = cargo();
    install.args(["install", "--quiet", "--locked", "--version", NEXTEST, "cargo-nextest"]);
    run(&mut install).is_ok()
}

/// cargo-mutants in a folder of its own beside what is built, installing it where it is missing or another version.
pub(crate) fn mutants() -> Result<PathBuf, String> {
    let folder = target().join("mutants/tool");
    let program = folder.join("bin").join(format!("cargo-mutants{}", std::env::consts::EXE_SUFFIX));
    let said = command(&program).args(["mutants", "--version"]).stderr(Stdio::null()).output();
    if said.is_ok_and(|said| String::from_utf8_lossy(&said.stdout).trim().ends_with(MUTANTS)) {
        return Ok(program);
    }
    println!("installing cargo-mutants {MUTANTS}");
    let mut install = cargo();
    install.args(["install", "--quiet", "--locked", "--force", "--version", MUTANTS, "--root"]).arg(&folder);
    run(install.arg("cargo-mutants"))?;
    Ok(program)
}

/// A C++ compiler, which the fuzzing engine is built with.
pub(crate) fn compiler() -> Result<(), String> {
    if answers("c++", "--version") { Ok(()) } else { debian(&["g++"]) }
}

/// Programs that read a PDF: its pages, its words, what a printer makes of it.
pub(crate) fn poppler() -> Result<(), String> {
    if answers("pdftotext", "-v") && answers("pdftoppm", "-v") { Ok(()) } else { debian(&["poppler-utils"]) }
}

/// A PostgreSQL server's programs, for the tests that start one of their own on loopback.
pub(crate) fn postgresql() -> Result<(), String> {
    let there = std::fs::read_dir("/usr/lib/postgresql")
        .is_ok_and(|versions| versions.flatten().any(|version| version.path().join("bin/initdb").exists()));
    if there { Ok(()) } else { debian(&["postgresql"]) }
}

/// Node, with the libraries that `checks/browser/package-lock.json` pins, and the browser that they drive.
pub(crate) fn browser() -> Result<(), String> {
    let programs = [("chromium", "chromium"), ("node", "nodejs"), ("npm", "npm")];
    let missing: Vec<&str> =
        programs.iter().filter(|(program, _)| !answers(program, "--version")).map(|&(_, package)| package).collect();
    if !missing.is_empty() {
        debian(&missing)?;
    }
    let folder = root().join("checks/browser");
    let read = |file: &Path| std::fs::read_to_string(file).map_err(|error| format!("{}: {error}", file.display()));
    let wanted = read(&folder.join("package-lock.json"))?;
    let installed = folder.join("node_modules/installed.json");
    if read(&installed).is_ok_and(|text| text == wanted) {
        return Ok(());
    }
    let mut npm = command("npm");
    npm.args(["ci", "--prefix"]).arg(&folder).args(["--ignore-scripts", "--no-audit", "--no-fund", "--silent"]);
    run(&mut npm)?;
    std::fs::write(&installed, wanted).map_err(|error| format!("{}: {error}", installed.display()))
}
