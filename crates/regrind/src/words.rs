//! Chances in words. One table, used everywhere, so that the same chance never goes by two names.

/// A chance as a number of cases in a hundred; never a bare none or all.
pub fn in_hundred(share: f64) -> String {
    if share >= 0.995 {
        "more than 99 in 100".into()
    } else if share < 0.005 {
        "fewer than 1 in 100".into()
    } else {
        format!("{} in 100", (share * 100.0).round().clamp(1.0, 99.0))
    }
}

/// A chance in words.
pub fn likelihood(share: f64) -> &'static str {
    const TABLE: [(f64, &str); 8] = [
        (0.995, "almost certain"),
        (0.95, "very likely"),
        (0.80, "likely"),
        (0.60, "more likely than not"),
        (0.40, "could go either way"),
        (0.20, "unlikely"),
        (0.05, "very unlikely"),
        (0.005, "hardly a chance"),
    ];
    TABLE.iter().find(|&&(from, _)| share >= from).map_or("almost none", |&(_, words)| words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_are_said_one_way() {
        for (share, figure, words) in [
            (1.0, "more than 99 in 100", "almost certain"),
            (0.9949, "99 in 100", "very likely"),
            (0.94, "94 in 100", "likely"),
            (0.5, "50 in 100", "could go either way"),
            (0.006, "1 in 100", "hardly a chance"),
            (0.0049, "fewer than 1 in 100", "almost none"),
            (0.0, "fewer than 1 in 100", "almost none"),
        ] {
            assert_eq!(in_hundred(share), figure, "{share}");
            assert_eq!(likelihood(share), words, "{share}");
        }
    }
}
