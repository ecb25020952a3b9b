//! A library that holds the shipped specifications and whatever a test puts beside its sheet.
#![allow(dead_code, reason = "each test file uses its own part of this")]

use sheet::{Library, Problem, Sheet, read_sheet};

/// The shipped single.
pub(crate) const WREN: &str = include_str!("../../../tenunder/library/wren.toml");
/// The shipped four.
pub(crate) const TARN: &str = include_str!("../../../tenunder/library/tarn-four.toml");
/// The shipped six, in millimetres.
pub(crate) const SKELDER: &str = include_str!("../../../tenunder/library/skelder-six.toml");

/// Three readings of a Wren and nothing else.
pub(crate) const PAGE: &str = r#"sheet = 1
mark = "W-17"
specification = "wren.toml"
units = "in"
reading = [
    { journal = "main 1", at = "middle", plane = 0, size = 1.4991 },
    { journal = "main 1", at = "middle", plane = 90, size = 1.4990 },
    { journal = "pin 1", at = "rear", plane = 90, size = 1.2480 },
]
"#;

/// The shipped specifications and some files.
pub(crate) struct Beside<'a>(pub(crate) &'a [(&'a str, &'a str)]);

impl Library for Beside<'_> {
    fn text(&self, name: &str) -> Result<String, String> {
        let shipped = [("wren.toml", WREN), ("tarn-four.toml", TARN), ("skelder-six.toml", SKELDER)];
        let found = self.0.iter().chain(&shipped).find(|(file, _)| *file == name);
        found.map(|(_, text)| (*text).to_owned()).ok_or_else(|| "there is no such file beside the sheet".to_owned())
    }
}

/// Reads a sheet that has nothing beside it.
pub(crate) fn read(text: &str) -> Result<Sheet, Vec<Problem>> {
    read_sheet("w-17.toml", text, &Beside(&[]))
}

/// A sheet that must be sound.
pub(crate) fn sound(text: &str) -> Sheet {
    read(text).unwrap_or_else(|problems| panic!("refused:\n{}", listed(&problems)))
}

/// What is said of a sheet that must be refused.
pub(crate) fn refused(text: &str) -> String {
    refused_beside(text, &[])
}

/// What is said of a sheet with files beside it that must be refused.
pub(crate) fn refused_beside(text: &str, files: &[(&str, &str)]) -> String {
    match read_sheet("w-17.toml", text, &Beside(files)) {
        Ok(_) => panic!("read without a problem"),
        Err(problems) => {
            assert!(!problems.is_empty(), "refused without a reason");
            listed(&problems)
        }
    }
}

/// Problems as they are printed, one to a line.
pub(crate) fn listed(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// The page with some texts replaced; each must be there.
pub(crate) fn page_with(changes: &[(&str, &str)]) -> String {
    let mut page = PAGE.to_owned();
    for (from, to) in changes {
        assert!(page.contains(from), "{from} is not on the page");
        page = page.replace(from, to);
    }
    page
}
