//! Completions and manual pages, as a shell and `man` take them.
#![cfg(feature = "pages")]

use std::path::Path;
use std::process::{Command, Output};

fn tenunder(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).args(arguments).output().unwrap()
}

/// Every command of the help is completed, and has its page.
#[test]
fn every_command_is_completed_and_has_its_page() {
    let help = String::from_utf8(tenunder(&["--help"]).stdout).unwrap();
    let listed = help.split("Commands:").nth(1).unwrap().split("Options:").next().unwrap();
    // A command's name stands two blanks in; what it does stands further.
    let names = listed.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names: Vec<&str> =
        names.filter_map(|line| line.split_whitespace().next()).filter(|name| *name != "help").collect();
    assert!(names.len() > 10, "{names:?}");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("man-pages");
    let _ = std::fs::remove_dir_all(&folder);
    let written = tenunder(&["man", folder.to_str().unwrap()]);
    assert_eq!(written.status.code(), Some(0), "{}", String::from_utf8_lossy(&written.stderr));
    // Again over its own; over what is not its own, nothing at all.
    assert_eq!(tenunder(&["man", folder.to_str().unwrap()]).status.code(), Some(0));
    let (own, other) = (folder.join("tenunder-serve.1"), folder.join("tenunder-print.1"));
    let was = std::fs::read(&own).unwrap();
    std::fs::write(&own, "an older page").unwrap();
    let refused = tenunder(&["man", folder.to_str().unwrap()]);
    assert!(String::from_utf8_lossy(&refused.stderr).contains("is no manual page of this program"));
    assert_eq!((refused.status.code(), std::fs::read(&own).unwrap()), (Some(2), b"an older page".to_vec()));
    std::fs::write(&own, was).unwrap();
    assert!(other.exists());
    for shell in ["bash", "zsh", "fish"] {
        let script = tenunder(&["completions", shell]);
        assert_eq!(script.status.code(), Some(0));
        let script = String::from_utf8(script.stdout).unwrap();
        for name in &names {
            assert!(script.contains(name), "{shell} knows nothing of {name}");
            let page = std::fs::read_to_string(folder.join(format!("tenunder-{name}.1"))).unwrap();
            assert!(page.starts_with(".ie") && page.contains(".SH NAME"), "{name}: {page:.80}");
        }
    }
}

/// A shell that nobody knows, and a folder that cannot be made, are answered.
#[test]
fn what_cannot_be_done_is_said() {
    let odd = tenunder(&["completions", "cmd"]);
    assert_eq!(odd.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&odd.stderr).contains("bash"));
    let nowhere = tenunder(&["man", "/dev/null/pages"]);
    assert_eq!(nowhere.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&nowhere.stderr).contains("Name a folder"));
}
