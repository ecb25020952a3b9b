//! Files that only their owner can read.

use std::fs::{File, OpenOptions};
use std::path::Path;

/// A new file, readable and writable by its owner only; an error where there is one of that name.
pub(super) fn new_file(path: &Path) -> std::io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}
