//! The JSON interface against its own description: schemathesis asks the invented shop whatever the description allows,
//! and much that it does not.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Stdio};

use crate::tools::{self, command, run as start};

/// Seconds of asking; it goes on as long as this whatever the machine.
const SECONDS: u32 = 110;
/// What every answer must keep.
const CHECKS: &str = "not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance";

/// A program that is stopped when this is dropped.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        // One that has ended by itself cannot be stopped, which is as well.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Starts the invented shop, has it asked, and looks the record through afterwards.
///
/// # Errors
/// An answer that is not as described, or a record that is not whole.
pub(crate) fn run() -> Result<(), String> {
    let python = tools::python()?;
    let program = tools::target().join("release/tenunder");
    let folder = tools::target().join("describe");
    let record = folder.join("oxbow.tenunder");
    // Left over from the last run.
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let (running, address) = serve(&program, &record)?;
    let mut schemathesis = command(python.with_file_name("schemathesis"));
    schemathesis.current_dir(&folder);
    schemathesis.env("SCHEMATHESIS_HOOKS", "api_hooks").env("PYTHONPATH", tools::root().join("checks"));
    schemathesis.env("PYTHONDONTWRITEBYTECODE", "1");
    schemathesis.args(["run", &format!("{address}api/openapi.json"), "--checks", CHECKS, "--continue-on-failure"]);
    schemathesis.args(["--max-time", &SECONDS.to_string(), "--warnings", "off"]);
    let asked = start(&mut schemathesis);
    drop(running);
    let whole = start(command(&program).arg("verify").arg("--record").arg(&record));
    asked.and(whole)
}

/// The invented shop in a new record, and where it answers.
fn serve(program: &Path, record: &Path) -> Result<(Running, String), String> {
    let mut command = command(program);
    command.args(["demo", "--serve", "--port", "0", "--keep"]).arg(record).stdout(Stdio::piped());
    let mut child = command.spawn().map_err(|error| format!("{}: {error}", program.display()))?;
    let out = child.stdout.take();
    let running = Running(child);
    let mut line = String::new();
    let mut reader = BufReader::new(out.ok_or("the shop says nothing")?);
    reader.read_line(&mut line).map_err(|error| format!("{}: {error}", program.display()))?;
    let address = line.split_whitespace().find(|word| word.starts_with("http://"));
    let address = address.ok_or_else(|| format!("no address in {line:?}"))?.to_owned();
    Ok((running, address))
}
