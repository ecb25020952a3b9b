//! The one-way flow of ARCHITECTURE.md, held by a test.

#[cfg(test)]
mod tests {
    use crate::tools::root;

    /// Each room and the rooms it may use.
    const ROOMS: [(&str, &[&str]); 17] = [
        ("study", &[]),
        ("units", &[]),
        ("document", &[]),
        ("journal", &[]),
        ("programme", &[]),
        ("say", &["units", "journal"]),
        ("gauge", &["units", "programme"]),
        ("crank", &["units", "journal", "gauge"]),
        ("regrind", &["units", "gauge", "crank", "programme"]),
        ("film", &["units"]),
        ("fit", &["units", "gauge", "crank", "regrind", "film"]),
        ("sheet", &["units", "document", "gauge", "crank", "regrind", "film", "fit"]),
        ("shop", &["units", "document", "journal", "say"]),
        ("job", &["units", "gauge", "crank", "regrind", "fit", "sheet", "say", "shop"]),
        ("paper", &["units", "gauge", "crank", "regrind", "film", "fit"]),
        ("bench", &["units", "gauge", "crank", "regrind", "film", "fit", "sheet", "say", "shop", "job", "paper"]),
        ("tenunder", &["units", "gauge", "crank", "regrind", "film", "fit", "sheet", "shop", "job", "paper", "bench"]),
    ];

    /// Rooms for development alone.
    const DEVELOPMENT: [&str; 1] = ["study"];

    /// What the rooms that compute may not depend on: clocks, databases, the network, threads that wait.
    const IMPURE: [&str; 7] = ["tokio", "sqlx", "jiff", "getrandom", "indicatif", "clap", "image"];

    fn dependencies(room: &str) -> Vec<String> {
        let path = root().join("crates").join(room).join("Cargo.toml");
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let section = text.split("[dependencies]").nth(1).unwrap_or_default();
        section
            .lines()
            .skip(1)
            .take_while(|line| !line.starts_with('['))
            .filter_map(|line| line.split(['=', '.', ' ']).next())
            .filter(|name| !name.is_empty() && !name.starts_with('#'))
            .map(str::to_owned)
            .collect()
    }

    #[test]
    fn rooms_use_only_the_rooms_before_them() {
        let crates = std::fs::read_dir(root().join("crates")).expect("the rooms").flatten().count();
        assert_eq!(crates, ROOMS.len(), "a room was added or lost: say here, and in ARCHITECTURE.md, what it may use");
        for (room, may_use) in ROOMS {
            for used in dependencies(room).iter().filter(|name| ROOMS.iter().any(|(other, _)| other == name)) {
                assert!(may_use.contains(&used.as_str()), "`{room}` must not use `{used}`: see ARCHITECTURE.md");
            }
        }
    }

    #[test]
    fn no_product_code_uses_what_is_for_development() {
        for (room, may_use) in ROOMS {
            assert!(!may_use.iter().any(|used| DEVELOPMENT.contains(used)), "{room}");
            let used = dependencies(room);
            assert!(
                !used.iter().any(|used| DEVELOPMENT.contains(&used.as_str())),
                "`{room}` must not use it: {used:?}"
            );
        }
        for room in DEVELOPMENT {
            let path = root().join("crates").join(room).join("Cargo.toml");
            let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            assert!(text.contains("publish = false"), "{room}");
        }
    }

    #[test]
    fn rooms_that_compute_stay_pure() {
        for room in [
            "units",
            "document",
            "journal",
            "programme",
            "say",
            "gauge",
            "crank",
            "regrind",
            "film",
            "fit",
            "job",
            "paper",
        ] {
            for used in dependencies(room) {
                assert!(!IMPURE.contains(&used.as_str()), "`{room}` must not depend on `{used}`: see ARCHITECTURE.md");
            }
        }
    }
}
