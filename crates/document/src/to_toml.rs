//! A document as TOML: plain keys first, tables under headings, every number with the digits that were typed.

use crate::Value;
use crate::number::plain;

/// Whether a value gets a heading of its own, and of which kind.
enum Heading {
    None,
    Table,
    Rows,
}

fn heading(path: &str, value: &Value) -> Heading {
    match value {
        // A few figures that belong together, such as the growth's mean and spread, read best on one line.
        Value::Table(pairs)
            if !path.is_empty() && pairs.len() <= 3 && pairs.iter().all(|(_, v)| v.as_typed().is_some()) =>
        {
            Heading::None
        }
        Value::Table(_) => Heading::Table,
        Value::List(items) if !items.is_empty() && items.iter().all(|item| matches!(item, Value::Table(_))) => {
            Heading::Rows
        }
        _ => Heading::None,
    }
}

/// The keys of a table, those with a heading after those without.
pub(crate) fn section(out: &mut String, path: &str, pairs: &[(String, Value)]) {
    let inside = |key: &str| if path.is_empty() { toml_key(key) } else { format!("{path}.{}", toml_key(key)) };
    for (key, value) in pairs {
        if let Heading::None = heading(path, value) {
            line(out, key, value);
        }
    }
    for (key, value) in pairs {
        match heading(path, value) {
            Heading::None => {}
            Heading::Table => {
                blank(out);
                out.push_str(&format!("[{}]\n", inside(key)));
                section(out, &inside(key), value.pairs());
            }
            Heading::Rows => {
                for item in value.items() {
                    blank(out);
                    out.push_str(&format!("[[{}]]\n", inside(key)));
                    for (key, value) in item.pairs() {
                        line(out, key, value);
                    }
                }
            }
        }
    }
}

fn blank(out: &mut String) {
    if !out.is_empty() {
        out.push('\n');
    }
}

fn line(out: &mut String, key: &str, value: &Value) {
    out.push_str(&toml_key(key));
    out.push_str(" = ");
    inline(out, value);
    out.push('\n');
}

fn inline(out: &mut String, value: &Value) {
    match value {
        Value::Text(text) | Value::Bare(text) => toml_text(out, text),
        Value::Number(typed) => match plain(typed) {
            Some(number) => out.push_str(&number),
            None => toml_text(out, typed),
        },
        Value::Truth(truth) => out.push_str(if *truth { "true" } else { "false" }),
        Value::List(items) => {
            out.push('[');
            for (n, item) in items.iter().enumerate() {
                if n > 0 {
                    out.push_str(", ");
                }
                inline(out, item);
            }
            out.push(']');
        }
        Value::Table(pairs) if pairs.is_empty() => out.push_str("{}"),
        Value::Table(pairs) => {
            out.push_str("{ ");
            for (n, (key, value)) in pairs.iter().enumerate() {
                if n > 0 {
                    out.push_str(", ");
                }
                out.push_str(&toml_key(key));
                out.push_str(" = ");
                inline(out, value);
            }
            out.push_str(" }");
        }
    }
}

fn toml_key(key: &str) -> String {
    let bare = !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if bare {
        return key.to_owned();
    }
    let mut quoted = String::new();
    toml_text(&mut quoted, key);
    quoted
}

fn toml_text(out: &mut String, text: &str) {
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            '\r' => out.push_str("\\r"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", c as u32)),
            c => out.push(c),
        }
    }
    out.push('"');
}
