//! Taking the keys of a table one by one; what is left over at the end is unknown and is named.

use document::{Document, Node, Place, Problems, Value};
use units::{Entry as Typed, Unit};

/// A table being read.
#[derive(Debug)]
pub(crate) struct Table<'a> {
    file: &'a str,
    /// What stands before each key in a problem: nothing, `policy.` or `reading[3].`.
    prefix: String,
    line: Option<usize>,
    node: Node<'a>,
    known: Vec<&'static str>,
}

/// One key of a table and its value.
#[derive(Clone, Debug)]
pub(crate) struct Field<'a> {
    pub(crate) file: &'a str,
    pub(crate) key: String,
    pub(crate) line: Option<usize>,
    pub(crate) node: Node<'a>,
}

impl<'a> Table<'a> {
    pub(crate) fn root(file: &'a str, document: &'a Document, problems: &mut Problems) -> Table<'a> {
        let field = Field { file, key: String::new(), line: document.line(), node: document.root() };
        if !field.is_table() {
            field.refuse(problems, "a table of keys", "write the document as described in docs/sheet.md");
        }
        Table { file, prefix: String::new(), line: Some(1), node: field.node, known: Vec::new() }
    }

    pub(crate) fn place(&self) -> Place<'a> {
        Place { file: self.file, line: self.line }
    }

    /// The line of a key.
    pub(crate) fn line_of(&self, key: &str) -> Option<usize> {
        self.node.entry(key).and_then(|entry| entry.line)
    }

    /// Whether a key is there.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.node.entry(key).is_some()
    }

    /// The name of a key of this table in a problem.
    pub(crate) fn named(&self, key: &str) -> String {
        format!("{}{key}", self.prefix)
    }

    /// The value of a key, if it is there.
    pub(crate) fn take(&mut self, key: &'static str) -> Option<Field<'a>> {
        self.known.push(key);
        let entry = self.node.entry(key)?;
        Some(Field { file: self.file, key: self.named(key), line: entry.line, node: entry.node })
    }

    /// The value of a key that must be there.
    pub(crate) fn need(
        &mut self,
        key: &'static str,
        expected: &str,
        example: &str,
        problems: &mut Problems,
    ) -> Option<Field<'a>> {
        let field = self.take(key);
        if field.is_none() {
            problems.add(self.place(), self.named(key), "nothing", expected, format!("add {example}"));
        }
        field
    }

    /// A row of a CSV file, whose keys are the names of its columns.
    pub(crate) fn row_of_file(file: &'a str, row: &'a Document) -> Table<'a> {
        Table { file, prefix: String::new(), line: row.line(), node: row.root(), known: Vec::new() }
    }

    /// Names every key that nobody took, with the nearest one that is known.
    pub(crate) fn finish(self, problems: &mut Problems) {
        for entry in self.node.entries() {
            self.check_known("key", entry.key, entry.line, problems);
        }
    }

    /// Names a key that nobody took.
    pub(crate) fn check_known(&self, what: &str, key: &str, line: Option<usize>, problems: &mut Problems) {
        if self.known.contains(&key) {
            return;
        }
        if problems.is_full() {
            problems.count_one(); // the nearest name is not looked for in vain
            return;
        }
        let advice = match nearest(key, &self.known) {
            Some(known) => format!("did you mean {known}? Otherwise take it out"),
            None => "take it out, or see docs/sheet.md for the keys there are".to_owned(),
        };
        let place = Place { file: self.file, line };
        problems.add(place, self.named(key), format!("an unknown {what} \"{key}\""), self.expected(), advice);
    }

    fn expected(&self) -> String {
        match self.known.as_slice() {
            [] => "nothing here".to_owned(),
            known if known.len() > 9 => "one of the keys of this table".to_owned(),
            known => known.join(", "),
        }
    }
}

impl<'a> Field<'a> {
    pub(crate) fn place(&self) -> Place<'a> {
        Place { file: self.file, line: self.line }
    }

    /// Puts down that the value is not what it should be.
    pub(crate) fn refuse(&self, problems: &mut Problems, expected: impl Into<String>, advice: impl Into<String>) {
        problems.add(self.place(), self.key.as_str(), self.node.value.shown(), expected, advice);
    }

    pub(crate) fn text(&self, problems: &mut Problems) -> Option<&'a str> {
        match self.node.value {
            Value::Text(text) if !text.trim().is_empty() => Some(text.trim()),
            Value::Text(_) => {
                self.refuse(problems, "some words", "fill it in or take the key out");
                None
            }
            _ => {
                self.refuse(problems, "words in quotes", "put it in double quotes");
                None
            }
        }
    }

    /// One of a few words.
    pub(crate) fn word<T: Copy>(&self, words: &[(&'static str, T)], problems: &mut Problems) -> Option<T> {
        let found = match self.node.value {
            Value::Text(text) => words.iter().find(|(word, _)| *word == text.trim()),
            _ => None,
        };
        if found.is_none() {
            let listed: Vec<String> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
            let known: Vec<&'static str> = words.iter().map(|(word, _)| *word).collect();
            let advice = match self.node.value {
                Value::Text(text) => nearest(text, &known).map(|word| format!("did you mean \"{word}\"?")),
                _ => None,
            };
            self.refuse(problems, listed.join(" or "), advice.unwrap_or("write one of these".to_owned()));
        }
        found.map(|(_, meaning)| *meaning)
    }

    pub(crate) fn truth(&self, problems: &mut Problems) -> Option<bool> {
        match self.node.value {
            Value::Truth(truth) => Some(*truth),
            _ => {
                self.refuse(problems, "true or false", "write it without quotes");
                None
            }
        }
    }

    /// A finite number that satisfies a condition, which `expected` puts in words.
    pub(crate) fn number(
        &self,
        holds: impl Fn(f64) -> bool,
        expected: &str,
        advice: &str,
        problems: &mut Problems,
    ) -> Option<f64> {
        match self.node.value {
            Value::Number(typed) => {
                let number: Option<f64> = typed.parse().ok().filter(|n: &f64| n.is_finite());
                let Some(number) = number else {
                    self.refuse(problems, expected, "replace it with a number, or take the row out");
                    return None;
                };
                if !holds(number) {
                    self.refuse(problems, expected, advice);
                    return None;
                }
                Some(number)
            }
            Value::Text(_) => {
                self.refuse(problems, expected, "write the number without quotes");
                None
            }
            _ => {
                self.refuse(problems, expected, "write one number");
                None
            }
        }
    }

    /// A direction in degrees, brought into one turn.
    pub(crate) fn angle_deg(&self, problems: &mut Problems) -> Option<f64> {
        self.direction_deg(problems).map(|a| a.rem_euclid(360.0))
    }

    /// A direction as it was typed. One beyond a turn back and two on is no direction that anybody means.
    pub(crate) fn direction_deg(&self, problems: &mut Problems) -> Option<f64> {
        let expected = match self.node.value {
            Value::Number(typed) if typed.parse::<f64>().is_ok_and(f64::is_finite) => {
                "a direction from -360 to 720 degrees"
            }
            _ => "a direction in degrees",
        };
        self.number(|deg| (-360.0..=720.0).contains(&deg), expected, "write it as 90", problems)
    }

    /// A whole number within bounds.
    pub(crate) fn whole(&self, low: u64, high: u64, problems: &mut Problems) -> Option<u64> {
        let number = match self.node.value {
            Value::Number(typed) => typed.parse::<u64>().ok().filter(|n| (low..=high).contains(n)),
            _ => None,
        };
        if number.is_none() {
            let expected = match high {
                u64::MAX => format!("a whole number from {low} up"),
                _ => format!("a whole number from {low} to {high}"),
            };
            let whole = matches!(self.node.value, Value::Number(typed) if typed.parse::<i128>().is_ok());
            let advice =
                if whole { "write a number within these bounds" } else { "write digits only, without quotes or point" };
            self.refuse(problems, expected, advice);
        }
        number
    }

    /// A length as it was typed; `unit` is what a bare number means.
    pub(crate) fn length(&self, unit: Unit, problems: &mut Problems) -> Option<Typed> {
        let typed = match self.node.value {
            Value::Number(typed) | Value::Text(typed) => typed,
            _ => {
                self.refuse(
                    problems,
                    format!("one length in {}", spelt(unit)),
                    "write a number, or a text such as \"47.612 mm\"",
                );
                return None;
            }
        };
        let refused = match units::read(typed, unit) {
            Ok(entry) if entry.mm.is_finite() => return Some(entry),
            Ok(_) => "it is too large".to_owned(),
            Err(error) => error.to_string(),
        };
        let no_number = matches!(self.node.value, Value::Number(_)); // nan, inf or beyond all lengths
        let advice = if no_number {
            "write what was measured, or take the row out".to_owned()
        } else {
            format!("type it again ({refused})")
        };
        self.refuse(problems, format!("a length in {}", spelt(unit)), advice);
        None
    }

    /// A length that satisfies a condition on its millimetres, which `expected` puts in words.
    pub(crate) fn length_where(
        &self,
        unit: Unit,
        holds: impl Fn(f64) -> bool,
        expected: &str,
        advice: &str,
        problems: &mut Problems,
    ) -> Option<Typed> {
        let entry = self.length(unit, problems)?;
        if !holds(entry.mm) {
            self.refuse(problems, expected, advice);
            return None;
        }
        Some(entry)
    }

    /// The items of a list, each as a field of its own; one value alone is a list of one.
    pub(crate) fn items(&self) -> Vec<Field<'a>> {
        match self.node.value {
            Value::List(_) => {
                let numbered = (1..).zip(self.node.items());
                numbered.map(|(n, node)| self.with(format!("{}[{n}]", self.key), node)).collect()
            }
            _ => vec![self.clone()],
        }
    }

    /// The items of what must be a list with something in it.
    pub(crate) fn list(&self, expected: &str, problems: &mut Problems) -> Option<Vec<Field<'a>>> {
        match self.node.value {
            Value::List(list) if !list.is_empty() => Some(self.items()),
            Value::List(_) => {
                self.refuse(problems, expected, "fill the list or take the key out");
                None
            }
            _ => {
                self.refuse(problems, expected, "write a list in square brackets");
                None
            }
        }
    }

    fn with(&self, key: String, node: Node<'a>) -> Field<'a> {
        Field { file: self.file, key, line: node.line(), node }
    }

    pub(crate) fn is_table(&self) -> bool {
        matches!(self.node.value, Value::Table(_))
    }

    /// The table in this field; its keys are named after it.
    pub(crate) fn table(&self, problems: &mut Problems) -> Option<Table<'a>> {
        let prefix = if self.key.is_empty() { String::new() } else { format!("{}.", self.key) };
        match self.node.value {
            Value::Table(_) => {
                Some(Table { file: self.file, prefix, line: self.line, node: self.node, known: Vec::new() })
            }
            _ => {
                self.refuse(problems, "a table", "write it as a table, with keys and values");
                None
            }
        }
    }

    /// The rows of an array of tables, each named by its number from one.
    pub(crate) fn rows(&self, problems: &mut Problems) -> Vec<Table<'a>> {
        let rows = match self.node.value {
            Value::List(_) => self.items(),
            // One row written with single brackets.
            Value::Table(_) => vec![self.with(format!("{}[1]", self.key), self.node)],
            _ => {
                self.refuse(problems, "rows", format!("begin each row with [[{}]]", self.key));
                return Vec::new();
            }
        };
        rows.iter().filter_map(|row| row.table(problems)).collect()
    }
}

/// A unit as it reads in a sentence.
pub(crate) fn spelt(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "inches",
        Unit::Millimetre => "millimetres",
    }
}

/// The known key that differs least from what was typed, if it is near enough to be a slip.
pub(crate) fn nearest(typed: &str, known: &[&'static str]) -> Option<&'static str> {
    if typed.chars().count() > 40 {
        return None;
    }
    let plain = |text: &str| text.to_lowercase().replace(['-', ' '], "_");
    let typed = plain(typed);
    let distances = known.iter().map(|key| (distance(&typed, key), *key));
    let (least, key) = distances.min()?;
    (least <= 1 + key.len() / 4).then_some(key)
}

/// How many letters must be changed, added or taken out to make one word the other.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        for (cell, other) in row.iter_mut().skip(1).zip(&b) {
            let above = *cell;
            *cell = (diagonal + usize::from(letter != *other)).min(above + 1).min(left + 1);
            left = *cell;
            diagonal = above;
        }
        row[0] = i + 1;
    }
    row.last().copied().unwrap_or_default()
}
