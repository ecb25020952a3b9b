//! The files that a sheet of the fuzzer's may name.

/// The engines that come with the program, a file of readings, and one more that the fuzzer writes.
pub struct Shelf<'a>(pub &'a str);

impl sheet::Library for Shelf<'_> {
    fn text(&self, name: &str) -> Result<String, String> {
        match name {
            "tarn-four.toml" => Ok(include_str!("../crates/tenunder/library/tarn-four.toml").to_owned()),
            "skelder-six.toml" => Ok(include_str!("../crates/tenunder/library/skelder-six.toml").to_owned()),
            "wren.toml" => Ok(include_str!("../crates/tenunder/library/wren.toml").to_owned()),
            "skelder-six-ground-before.csv" => {
                Ok(include_str!("../crates/tenunder/library/skelder-six-ground-before.csv").to_owned())
            }
            "readings.csv" | "other.toml" => Ok(self.0.to_owned()),
            _ => Err("there is no such file".to_owned()),
        }
    }
}

/// The sheets that come with the program.
#[allow(dead_code, reason = "one target reads sheets only as they come")]
pub const SHEETS: [&str; 6] = [
    include_str!("../crates/tenunder/library/wren-notebook.toml"),
    include_str!("../crates/tenunder/library/tarn-four-worn.toml"),
    include_str!("../crates/tenunder/library/tarn-four-misread.toml"),
    include_str!("../crates/tenunder/library/tarn-four-bearings.toml"),
    include_str!("../crates/tenunder/library/tarn-four-traced.toml"),
    include_str!("../crates/tenunder/library/skelder-six-ground-before.toml"),
];
