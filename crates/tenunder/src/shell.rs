//! What a shell and `man` know of this program: completions and pages, both made from the command line itself.

use std::path::{Path, PathBuf};

use clap::CommandFactory;
use clap_complete::Shell;

use crate::{AT_FAULT, Arguments, complain, say};

/// Prints the completions for a shell.
pub(crate) fn completions(shell: Shell) -> u8 {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "tenunder", &mut script);
    say(&String::from_utf8_lossy(&script))
}

/// Writes a page for the program and one for each of its commands into a folder, which is made where it is not there. What
/// stands there under such a name and is no earlier page is not replaced.
pub(crate) fn man(folder: &Path) -> u8 {
    match pages_into(folder) {
        Ok(None) => say(&format!("The manual pages are in {}: man tenunder.\n", folder.display())),
        Ok(Some(other)) => {
            complain(&format!(
                "tenunder: {} is there and is no manual page of this program; no page was written.\nName another folder, or \
                 move it away.\n",
                other.display()
            ));
            AT_FAULT
        }
        Err(error) => {
            complain(&format!(
                "tenunder: the pages could not be written to {}: {error}.\nName a folder that can be written to.\n",
                folder.display()
            ));
            AT_FAULT
        }
    }
}

/// Writes the pages; the first file that stands in their way, where one does.
fn pages_into(folder: &Path) -> std::io::Result<Option<PathBuf>> {
    let made = tempfile::tempdir()?;
    clap_mangen::generate_to(Arguments::command(), made.path())?;
    std::fs::create_dir_all(folder)?;
    let pages: Vec<_> = std::fs::read_dir(made.path())?.collect::<Result<_, _>>()?;
    let is_ours = |there: &[u8]| there.starts_with(b".ie") && there.windows(12).any(|part| part == b".TH tenunder");
    for page in &pages {
        let to = folder.join(page.file_name());
        match std::fs::read(&to) {
            Ok(there) if !is_ours(&there) => return Ok(Some(to)),
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    for page in &pages {
        std::fs::copy(page.path(), folder.join(page.file_name()))?;
    }
    Ok(None)
}
