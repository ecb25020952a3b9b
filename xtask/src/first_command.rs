//! What somebody who has just cloned must wait for: the crates that README's first command builds.

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use crate::tools::{cargo, output, root};

    /// There were 63 when this was written, and 274 where the package was not named: then cargo builds every room. More
    /// than this makes the first verdict wait longer than it has to: see CONTRIBUTING.md.
    const MOST_CRATES: usize = 80;

    const FIRST: &str = "cargo run --release -p tenunder --no-default-features -- demo";

    /// The command is the first one that README and CONTRIBUTING name.
    #[test]
    fn the_first_command_names_its_package() {
        for page in ["README.md", "CONTRIBUTING.md"] {
            let text = std::fs::read_to_string(root().join(page)).unwrap_or_else(|error| panic!("{page}: {error}"));
            let first = text.split("cargo ").nth(1).map(|rest| format!("cargo {rest}")).unwrap_or_default();
            assert!(first.starts_with(FIRST), "{page} names another command first: {:?}", first.lines().next());
        }
    }

    #[test]
    fn the_first_command_builds_few_crates() {
        let mut tree = cargo();
        tree.args(["tree", "--locked", "-p", "tenunder", "--no-default-features"]);
        tree.args(["-e", "normal,build", "--prefix", "none"]);
        let tree = output(&mut tree).expect("cargo lists the crates");
        // Name and version; a crate that was listed before carries a mark behind them.
        let crates: BTreeSet<(&str, &str)> = tree
            .lines()
            .filter_map(|line| {
                let mut words = line.split_whitespace();
                words.next().zip(words.next())
            })
            .collect();
        assert!(crates.iter().any(|(name, _)| *name == "units"), "this is no list of crates: {tree}");
        assert!(
            crates.len() <= MOST_CRATES,
            "{FIRST} now builds {} crates, more than {MOST_CRATES}: put what came in behind the features `record` or \
             `pages`",
            crates.len()
        );
    }
}
