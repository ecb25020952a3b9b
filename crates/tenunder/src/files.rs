//! Reading and writing files: the only room of this binary that touches the disk.

use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

use sheet::{Library, MOST_BYTES, Problem};

/// The engines and sheets that come with the program, all of them invented.
const SHIPPED: [(&str, &str); 11] = [
    ("tarn-four.toml", include_str!("../library/tarn-four.toml")),
    ("tarn-four-oil.toml", include_str!("../library/tarn-four-oil.toml")),
    ("tarn-four-worn.toml", include_str!("../library/tarn-four-worn.toml")),
    ("tarn-four-misread.toml", include_str!("../library/tarn-four-misread.toml")),
    ("tarn-four-bearings.toml", include_str!("../library/tarn-four-bearings.toml")),
    ("skelder-six.toml", include_str!("../library/skelder-six.toml")),
    ("skelder-six-ground-before.toml", include_str!("../library/skelder-six-ground-before.toml")),
    ("skelder-six-ground-before.csv", include_str!("../library/skelder-six-ground-before.csv")),
    ("skelder-six-bent.toml", include_str!("../library/skelder-six-bent.toml")),
    ("wren.toml", include_str!("../library/wren.toml")),
    ("wren-notebook.toml", include_str!("../library/wren-notebook.toml")),
];

/// A shipped file by its name.
pub(crate) fn shipped(name: &str) -> Option<&'static str> {
    SHIPPED.iter().find(|(shipped, _)| *shipped == name).map(|(_, text)| *text)
}

/// Names of the shipped specifications, without their ending.
pub(crate) fn specifications() -> impl Iterator<Item = (&'static str, &'static str)> {
    SHIPPED
        .iter()
        .filter(|(_, text)| sheet::is_specification(text))
        .filter_map(|(name, text)| Some((name.strip_suffix(".toml")?, *text)))
}

/// Names of the shipped sheets, without their ending.
pub(crate) fn sheets() -> impl Iterator<Item = &'static str> {
    SHIPPED.iter().filter(|(_, text)| sheet::is_sheet(text)).filter_map(|(name, _)| name.strip_suffix(".toml"))
}

/// Files beside a sheet, then the shipped ones.
pub(crate) struct Beside {
    pub(crate) folder: Option<PathBuf>,
}

impl Library for Beside {
    fn text(&self, name: &str) -> Result<String, String> {
        if leads_out(name) {
            let says = "name a file in the folder of the sheet: what a sheet names is read and quoted, and a sheet may \
                        come from anywhere";
            return Err(says.to_owned());
        }
        let beside = self.folder.as_ref().map(|folder| folder.join(name));
        if let Some(path) = beside.filter(|path| path.exists()) {
            return read_text(&path).map_err(|problem| format!("{}, expected {}", problem.found, problem.expected));
        }
        shipped(name).or_else(|| shipped(&format!("{name}.toml"))).map(str::to_owned).ok_or_else(|| {
            "no such file beside the sheet, and no specification of that name comes with the program".into()
        })
    }
}

/// Whether a name leads out of the folder that it is looked for in.
fn leads_out(name: &str) -> bool {
    Path::new(name).components().any(|part| !matches!(part, Component::Normal(_) | Component::CurDir))
}

/// Reads a text file of a sensible size.
pub(crate) fn read_text(path: &Path) -> Result<String, Box<Problem>> {
    let problem = |found: String, expected: &str, advice: &str| {
        Box::new(Problem {
            file: path.display().to_string(),
            line: None,
            key: "file".into(),
            found,
            expected: expected.into(),
            advice: advice.into(),
        })
    };
    let unreadable = |error: std::io::Error| {
        problem(format!("it could not be read ({error})"), "a readable text file", "check the name and the folder")
    };
    if path.is_dir() {
        return Err(problem("a folder".into(), "a text file", "name the file inside it"));
    }
    let file = File::open(path).map_err(unreadable)?;
    // One byte more than allowed tells a file that is too long from one that just fits; the length on disk is not
    // believed, because a device or a pipe has none.
    let mut bytes = Vec::new();
    file.take(MOST_BYTES as u64 + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    if bytes.len() > MOST_BYTES {
        return Err(problem(
            format!("more than {} MB", MOST_BYTES / 1_000_000),
            "a sheet, which is a few kilobytes",
            "is this the right file?",
        ));
    }
    String::from_utf8(bytes).map_err(|error| {
        problem(
            format!("bytes that are no text (at byte {})", error.utf8_error().valid_up_to()),
            "a text file in UTF-8",
            "save it as plain text; a spreadsheet or a word processor's file will not do",
        )
    })
}

/// Writes the shipped files into a folder; existing files are never overwritten.
pub(crate) fn copy_shipped(folder: &Path) -> Result<Vec<String>, Box<Problem>> {
    let problem = |path: &Path, error: std::io::Error| {
        Box::new(Problem {
            file: path.display().to_string(),
            line: None,
            key: "file".into(),
            found: error.to_string(),
            expected: "a folder that can be written to, without files of these names".into(),
            advice: "name another folder".into(),
        })
    };
    std::fs::create_dir_all(folder).map_err(|error| problem(folder, error))?;
    let mut written = Vec::new();
    for (name, text) in SHIPPED {
        let path = folder.join(name);
        let mut file = File::create_new(&path).map_err(|error| problem(&path, error))?;
        std::io::Write::write_all(&mut file, text.as_bytes()).map_err(|error| problem(&path, error))?;
        written.push(name.to_owned());
    }
    Ok(written)
}
