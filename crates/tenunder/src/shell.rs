//! What a shell and `man` know of this program: completions and pages, both made from the command line itself.

use std::path::Path;

use clap::CommandFactory;
use clap_complete::Shell;

use crate::{AT_FAULT, Arguments, complain, say};

/// Prints the completions for a shell.
pub(crate) fn completions(shell: Shell) -> u8 {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "tenunder", &mut script);
    say(&String::from_utf8_lossy(&script))
}

/// Writes a page for the program and one for each of its commands into a folder, which is made where it is not there.
pub(crate) fn man(folder: &Path) -> u8 {
    let written = std::fs::create_dir_all(folder).and_then(|()| clap_mangen::generate_to(Arguments::command(), folder));
    match written {
        Ok(()) => say(&format!("The manual pages are in {}: man tenunder.\n", folder.display())),
        Err(error) => {
            complain(&format!(
                "tenunder: the pages could not be written to {}: {error}.\nName a folder that can be written to.\n",
                folder.display()
            ));
            AT_FAULT
        }
    }
}
