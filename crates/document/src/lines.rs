//! On which lines the values of a document stand.

use crate::Value;

/// A document as it was read: its values and the lines they stand on.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// The values.
    pub value: Value,
    lines: Lines,
}

/// The lines of a value and of all that is in it, in the shape of the value.
#[derive(Clone, Debug, Default, PartialEq)]
struct Lines {
    /// Of the key that the value stands under.
    key: Option<usize>,
    /// Of the value itself.
    own: Option<usize>,
    inside: Vec<Lines>,
}

impl Document {
    /// A value with nothing in it.
    pub fn leaf(value: Value, line: Option<usize>) -> Document {
        Document { value, lines: Lines { own: line, ..Lines::default() } }
    }

    /// A list of what was read one by one.
    pub fn list(items: impl IntoIterator<Item = Document>, line: Option<usize>) -> Document {
        let (values, inside) = items.into_iter().map(|item| (item.value, item.lines)).unzip();
        Document { value: Value::List(values), lines: Lines { own: line, inside, ..Lines::default() } }
    }

    /// A table of keys, the lines these stand on, and what was read for each.
    pub fn table(
        entries: impl IntoIterator<Item = (String, Option<usize>, Document)>,
        line: Option<usize>,
    ) -> Document {
        let with_key = |(key, line, entry): (String, Option<usize>, Document)| {
            ((key, entry.value), Lines { key: line, ..entry.lines })
        };
        let (pairs, inside) = entries.into_iter().map(with_key).unzip();
        Document { value: Value::Table(pairs), lines: Lines { own: line, inside, ..Lines::default() } }
    }

    /// The line that the value stands on, where it is known.
    pub fn line(&self) -> Option<usize> {
        self.lines.own
    }

    /// The whole of it, to look into.
    pub fn root(&self) -> Node<'_> {
        Node { value: &self.value, lines: Some(&self.lines) }
    }
}

/// A value where it stands in a document.
#[derive(Clone, Copy, Debug)]
pub struct Node<'a> {
    /// The value.
    pub value: &'a Value,
    lines: Option<&'a Lines>,
}

/// One key of a table.
#[derive(Clone, Copy, Debug)]
pub struct Entry<'a> {
    /// The key.
    pub key: &'a str,
    /// The line of the key, from one.
    pub line: Option<usize>,
    /// What stands under it.
    pub node: Node<'a>,
}

/// What stands at a key such as `clearance[2].pin`.
#[derive(Clone, Copy, Debug)]
pub struct Found<'a> {
    /// The line of the last key, or of the item, from one.
    pub line: Option<usize>,
    /// The value.
    pub node: Node<'a>,
}

impl<'a> Node<'a> {
    /// The line that the value stands on, from one, where it is known.
    pub fn line(self) -> Option<usize> {
        self.lines.and_then(|lines| lines.own)
    }

    fn inside(self, n: usize) -> Option<&'a Lines> {
        self.lines.and_then(|lines| lines.inside.get(n))
    }

    /// The keys of a table, in their order.
    pub fn entries(self) -> impl Iterator<Item = Entry<'a>> {
        self.value.pairs().iter().enumerate().map(move |(n, (key, value))| {
            let lines = self.inside(n);
            Entry { key, line: lines.and_then(|lines| lines.key), node: Node { value, lines } }
        })
    }

    /// The key of a table.
    pub fn entry(self, key: &str) -> Option<Entry<'a>> {
        self.entries().find(|entry| entry.key == key)
    }

    /// The items of a list.
    pub fn items(self) -> impl Iterator<Item = Node<'a>> {
        self.value.items().iter().enumerate().map(move |(n, value)| Node { value, lines: self.inside(n) })
    }

    /// What stands at a key such as `clearance[2].pin`, whose items count from one.
    pub fn at(self, key: &str) -> Option<Found<'a>> {
        let mut found = Found { line: self.line(), node: self };
        for part in key.split('.') {
            let (name, place) = match part.split_once('[') {
                Some((name, rest)) => (name, rest.trim_end_matches(']').parse::<usize>().ok()),
                None => (part, None),
            };
            let entry = found.node.entry(name)?;
            found = Found { line: entry.line, node: entry.node };
            if let (Some(place), Value::List(_)) = (place, entry.node.value) {
                let node = entry.node.items().nth(place.checked_sub(1)?)?;
                found = Found { line: node.line().or(found.line), node };
            }
        }
        Some(found)
    }
}

/// Turns byte offsets into line numbers.
#[derive(Debug)]
pub(crate) struct Starts {
    /// Nothing where lines are of no interest.
    starts: Vec<usize>,
}

impl Starts {
    pub(crate) fn of(text: &str) -> Starts {
        let after = text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1);
        Starts { starts: std::iter::once(0).chain(after).collect() }
    }

    /// For a text whose lines are of no interest.
    pub(crate) const fn none() -> Starts {
        Starts { starts: Vec::new() }
    }

    /// The line, from one, that an offset lies in.
    pub(crate) fn at(&self, offset: usize) -> Option<usize> {
        Some(self.starts.partition_point(|start| *start <= offset)).filter(|line| *line > 0)
    }

    /// The text of a line.
    pub(crate) fn line<'t>(&self, text: &'t str, line: Option<usize>) -> &'t str {
        let start = line.and_then(|line| self.starts.get(line.checked_sub(1)?)).copied().unwrap_or_default();
        text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or_default().trim()
    }
}
