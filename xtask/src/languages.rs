//! The messages of `say` and the code that says them: nothing is said that has no message, and no message is never said.

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::path::Path;

    use crate::tools::root;

    /// Every `.rs` file below a folder, read.
    fn sources(folder: &Path, all: &mut Vec<String>) {
        let entries = std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
        for path in entries.flatten().map(|entry| entry.path()) {
            if path.is_dir() {
                sources(&path, all);
            } else if path.extension().is_some_and(|end| end == "rs") {
                all.push(std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display())));
            }
        }
    }

    #[test]
    fn every_message_is_said_somewhere() {
        let languages = root().join("crates/say/languages/en-GB");
        let mut keys = BTreeSet::new();
        for file in std::fs::read_dir(&languages).expect("the messages").flatten() {
            let text = std::fs::read_to_string(file.path()).expect("a message file");
            let starts = text.lines().filter(|line| line.starts_with(|first: char| first.is_ascii_lowercase()));
            keys.extend(starts.filter_map(|line| line.split_once(" =")).map(|(key, _)| key.to_owned()));
        }
        assert!(keys.len() > 50, "these are no messages: {keys:?}");
        let mut code = Vec::new();
        for room in std::fs::read_dir(root().join("crates")).expect("the rooms").flatten() {
            sources(&room.path().join("src"), &mut code);
            let tests = room.path().join("tests");
            if tests.is_dir() {
                sources(&tests, &mut code);
            }
        }
        let unsaid: Vec<&String> =
            keys.iter().filter(|key| !code.iter().any(|text| text.contains(&format!("\"{key}\"")))).collect();
        assert!(unsaid.is_empty(), "nobody says these messages: take them out, or say them: {unsaid:?}");
    }
}
