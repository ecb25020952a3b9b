//! What other people's code may be built in: from where, under which licence, and what never; by the rules in `deny.toml`.
//!
//! Looked at here from what cargo itself tells, because cargo-deny takes a quarter of an hour to build on two cores; where
//! it is installed it is asked as well, and looks at the advisories too.

use std::collections::BTreeSet;

use crate::notices;
use crate::tools::{answers, as_cargo, cargo, output, root, run as start};

/// One package that is built in.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Package {
    pub(crate) name: String,
    pub(crate) version: String,
    /// Its licence, an SPDX expression.
    pub(crate) licence: String,
    /// Whether it is a part of this project.
    pub(crate) ours: bool,
}

/// Holds the packages to `deny.toml`.
///
/// # Errors
/// All that is against it.
pub(crate) fn run() -> Result<(), String> {
    let rules = Rules::read()?;
    let mut against = Vec::new();
    for lock in ["Cargo.lock", "fuzz/Cargo.lock"] {
        let text = std::fs::read_to_string(root().join(lock)).map_err(|error| format!("{lock}: {error}"))?;
        against.extend(rules.against_sources(lock, &text, &our_names()?));
    }
    let all = packages(&["--workspace", "--all-features", "--target", "all", "-e", "normal,build,dev"])?;
    against.extend(all.iter().filter(|one| !one.ours).filter_map(|one| rules.against_licence(one)));
    against.extend(all.iter().filter_map(|one| rules.against_name(one)));
    println!("{} packages looked at: sources, licences, bans", all.len());
    for (name, versions) in twice(&all) {
        println!("  {name} is there in {} versions: {}", versions.len(), versions.join(", "));
    }
    if let Err(stale) = notices::check() {
        against.push(stale);
    }
    if answers("cargo-deny", "--version") {
        start(as_cargo("cargo-deny").args(["check", "licenses", "bans", "sources"]))
            .unwrap_or_else(|e| against.push(e));
        match start(as_cargo("cargo-deny").args(["fetch", "db"])) {
            Ok(()) => start(as_cargo("cargo-deny").args(["check", "advisories"])).unwrap_or_else(|e| against.push(e)),
            Err(_) => println!("advisories: NOT looked at, their database cannot be reached from here"),
        }
    } else {
        println!("advisories: NOT looked at, cargo-deny is not installed (cargo install --locked cargo-deny)");
    }
    if against.is_empty() { Ok(()) } else { Err(against.join("\n")) }
}

/// What cargo says is built in for these arguments of `cargo tree`, each once.
pub(crate) fn packages(arguments: &[&str]) -> Result<BTreeSet<Package>, String> {
    let mut tree = cargo();
    tree.args(["tree", "--locked", "--prefix", "none", "--format", "{p}|{l}"]).args(arguments);
    let told = output(&mut tree)?;
    let packages = told.lines().filter(|line| !line.trim().is_empty()).map(package);
    packages.collect::<Option<_>>().ok_or_else(|| "cargo tree told something else than packages".to_owned())
}

fn package(line: &str) -> Option<Package> {
    let (package, licence) = line.split_once('|')?;
    let mut words = package.split(' ');
    let (name, version) = (words.next()?, words.next()?.strip_prefix('v')?);
    let licence = licence.trim_end_matches(" (*)").trim();
    // One of ours is told with its folder.
    let ours = words.any(|word| word.starts_with("(/") || word.get(2..3) == Some(":"));
    Some(Package { name: name.to_owned(), version: version.to_owned(), licence: licence.to_owned(), ours })
}

fn twice(all: &BTreeSet<Package>) -> Vec<(String, Vec<String>)> {
    let mut names: Vec<(String, Vec<String>)> = Vec::new();
    for one in all {
        match names.last_mut() {
            Some((name, versions)) if *name == one.name => {
                if !versions.contains(&one.version) {
                    versions.push(one.version.clone());
                }
            }
            _ => names.push((one.name.clone(), vec![one.version.clone()])),
        }
    }
    names.retain(|(_, versions)| versions.len() > 1);
    names
}

/// The names of this project's own packages.
fn our_names() -> Result<Vec<String>, String> {
    let mut names = vec!["xtask".to_owned(), "fuzz".to_owned(), "tenunder-fuzz".to_owned()];
    let rooms = std::fs::read_dir(root().join("crates")).map_err(|error| format!("crates: {error}"))?;
    names.extend(rooms.flatten().map(|room| room.file_name().to_string_lossy().into_owned()));
    Ok(names)
}

/// What `deny.toml` says.
struct Rules {
    licences: Vec<String>,
    registries: Vec<String>,
    banned: Vec<String>,
}

impl Rules {
    fn read() -> Result<Rules, String> {
        let text = std::fs::read_to_string(root().join("deny.toml")).map_err(|error| format!("deny.toml: {error}"))?;
        Rules::of(&text)
    }

    fn of(text: &str) -> Result<Rules, String> {
        let list = |table: &str, key: &str| list(text, table, key).ok_or(format!("deny.toml: no list {table}.{key}"));
        let rules = Rules {
            licences: list("licenses", "allow")?,
            registries: list("sources", "allow-registry")?,
            banned: list("bans", "deny")?,
        };
        if rules.licences.is_empty() || rules.registries.is_empty() || rules.banned.is_empty() {
            return Err("deny.toml: an empty list would let nothing or everything through".to_owned());
        }
        Ok(rules)
    }

    fn against_licence(&self, one: &Package) -> Option<String> {
        let allowed = allowed(&one.licence, &self.licences);
        let Package { name, version, licence, .. } = one;
        (!allowed).then(|| format!("{name} {version}: its licence \"{licence}\" is not among those of deny.toml"))
    }

    fn against_name(&self, one: &Package) -> Option<String> {
        self.banned.contains(&one.name).then(|| format!("{} {}: banned by deny.toml", one.name, one.version))
    }

    fn against_sources(&self, file: &str, lock: &str, ours: &[String]) -> Vec<String> {
        let mut against = Vec::new();
        for block in lock.split("[[package]]").skip(1) {
            let value = |key: &str| {
                let line = block.lines().find_map(|line| line.strip_prefix(key)?.trim_start().strip_prefix('='))?;
                Some(line.trim().trim_matches('"'))
            };
            let name = value("name").unwrap_or_default();
            let source = value("source").map(|source| source.trim_start_matches("registry+"));
            let known = match source {
                Some(source) => self.registries.iter().any(|known| known == source) && value("checksum").is_some(),
                None => ours.iter().any(|own| own == name),
            };
            if !known {
                against.push(format!("{file}: {name} comes from {}", source.unwrap_or("a folder that is not ours")));
            }
        }
        against
    }
}

/// The strings of a list in a table of a TOML file that is written one table after another.
fn list(text: &str, table: &str, key: &str) -> Option<Vec<String>> {
    let body = text.split(&format!("[{table}]\n")).nth(1)?;
    let body = body.split("\n[").next()?;
    let rest = body.lines().skip_while(|line| !line.starts_with(&format!("{key} ="))).collect::<Vec<_>>().join("\n");
    let inside = rest.split_once('[')?.1.split_once(']')?.0;
    Some(inside.split('"').skip(1).step_by(2).map(str::to_owned).collect())
}

/// Whether an SPDX expression can be met with these licences. `/` is how `OR` was once written.
fn allowed(expression: &str, licences: &[String]) -> bool {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut rest = words.as_slice();
    any_of(&mut rest, licences) == Some(true) && rest.is_empty()
}

fn any_of(rest: &mut &[&str], licences: &[String]) -> Option<bool> {
    let mut met = all_of(rest, licences)?;
    while let ["OR", after @ ..] = *rest {
        *rest = after;
        met |= all_of(rest, licences)?;
    }
    Some(met)
}

fn all_of(rest: &mut &[&str], licences: &[String]) -> Option<bool> {
    let mut met = one_of(rest, licences)?;
    while let ["AND", after @ ..] = *rest {
        *rest = after;
        met &= one_of(rest, licences)?;
    }
    Some(met)
}

fn one_of(rest: &mut &[&str], licences: &[String]) -> Option<bool> {
    match *rest {
        ["(", after @ ..] => {
            *rest = after;
            let met = any_of(rest, licences)?;
            *rest = rest.strip_prefix(&[")"])?;
            Some(met)
        }
        [name, "WITH", exception, after @ ..] => {
            *rest = after;
            Some(licences.contains(&format!("{name} WITH {exception}")))
        }
        [name, after @ ..] if !matches!(*name, ")" | "AND" | "OR" | "WITH") => {
            *rest = after;
            Some(licences.iter().any(|known| known == name))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULES: &str = "[licenses]\nallow = [\n    \"MIT\",\n    \"Zlib\",\n    \"Apache-2.0 WITH LLVM-exception\",\n]\n\
                         [bans]\ndeny = [\n    { name = \"openssl\" },\n]\n[sources]\nallow-registry = [\"https://index\"]\n";

    #[test]
    fn an_expression_is_met_or_not() {
        let rules = Rules::of(RULES).unwrap();
        for (expression, met) in [
            ("MIT", true),
            ("GPL-3.0-only", false),
            ("MIT OR GPL-3.0-only", true),
            ("MIT AND GPL-3.0-only", false),
            ("MIT/Apache-2.0", true),
            ("(MIT OR GPL-2.0-only) AND Zlib", true),
            ("(MIT OR Zlib) AND GPL-2.0-only", false),
            ("Apache-2.0 WITH LLVM-exception OR GPL-2.0-only", true),
            ("Apache-2.0", false),
            // AND binds closer than OR (SPDX 2.3, annex D.4).
            ("GPL-2.0-only AND Zlib OR MIT", true),
            ("MIT OR GPL-2.0-only AND GPL-3.0-only", true),
            ("", false),
            ("(MIT", false),
            ("MIT MIT", false),
            ("MIT OR", false),
        ] {
            assert_eq!(allowed(expression, &rules.licences), met, "{expression:?}");
        }
    }

    #[test]
    fn what_comes_from_elsewhere_is_found() {
        let rules = Rules::of(RULES).unwrap();
        let package = |name: &str, more: &str| format!("[[package]]\nname = \"{name}\"\nversion = \"1.0.0\"\n{more}\n");
        let found =
            |name: &str, more: &str| rules.against_sources("lock", &package(name, more), &["ours".to_owned()]).len();
        assert_eq!(found("a", "source = \"registry+https://index\"\nchecksum = \"0\""), 0);
        assert_eq!(found("a", "source = \"registry+https://index\""), 1, "without its checksum");
        assert_eq!(found("a", "source = \"registry+https://other\"\nchecksum = \"0\""), 1);
        assert_eq!(found("a", "source = \"git+https://index\"\nchecksum = \"0\""), 1);
        assert_eq!((found("ours", ""), found("a", "")), (0, 1));
    }

    #[test]
    fn lines_of_cargo_are_read() {
        let one = package("syn v2.0.119|MIT OR Apache-2.0").unwrap();
        assert_eq!((one.name.as_str(), one.version.as_str(), one.ours), ("syn", "2.0.119", false));
        assert!(package("units v0.1.0 (/home/pat/units)|MIT").unwrap().ours);
        assert!(!package("serde_derive v1.0.229 (proc-macro) (*)|MIT (*)").unwrap().ours);
        let banned = package("openssl v0.10.0|Apache-2.0").unwrap();
        assert!(Rules::of(RULES).unwrap().against_name(&banned).is_some());
        assert_eq!(package("nothing"), None);
        let all = ["a v1.0.0|MIT", "a v2.0.0|MIT", "b v1.0.0|MIT"].iter().filter_map(|line| package(line)).collect();
        assert_eq!(twice(&all), [("a".to_owned(), vec!["1.0.0".to_owned(), "2.0.0".to_owned()])]);
    }

    #[test]
    fn the_rules_of_this_project_are_read() {
        let rules = Rules::read().unwrap();
        assert!(rules.licences.iter().any(|one| one == "MIT") && !rules.licences.iter().any(|one| one.contains("GPL")));
        assert_eq!(rules.registries, ["https://github.com/rust-lang/crates.io-index"]);
        assert!(Rules::of("[licenses]\nallow = []\n").is_err());
    }
}
