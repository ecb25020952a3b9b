//! The message files, and how a message is found and put together.

use std::fmt;
use std::sync::OnceLock;

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentError, FluentResource, FluentValue};

use crate::figures::grouped;
use crate::tongue::Tongue;

macro_rules! folders {
    ($($file:literal),* $(,)?) => {
        /// The files of a language. Each has them all.
        pub const FILES: &[&str] = &[$($file),*];

        fn texts(tongue: Tongue) -> &'static [&'static str] {
            match tongue {
                Tongue::BritishEnglish => &[$(include_str!(concat!("../languages/en-GB/", $file))),*],
                Tongue::AmericanEnglish => &[$(include_str!(concat!("../languages/en-US/", $file))),*],
                Tongue::German => &[$(include_str!(concat!("../languages/de/", $file))),*],
                Tongue::Spanish => &[$(include_str!(concat!("../languages/es/", $file))),*],
            }
        }
    };
}

folders!(
    "about.ftl",
    "names.ftl",
    "figures.ftl",
    "chances.ftl",
    "counts.ftl",
    "refusals.ftl",
    "history.ftl",
    "grinder.ftl"
);

type Bundle = FluentBundle<FluentResource>;

fn bundle(tongue: Tongue) -> &'static Bundle {
    static BUNDLES: [OnceLock<Bundle>; 4] = [const { OnceLock::new() }; 4];
    // The order of `Tongue::ALL` is that of the enumeration.
    BUNDLES[tongue as usize].get_or_init(|| read(tongue))
}

fn read(tongue: Tongue) -> Bundle {
    let mut bundle = FluentBundle::new_concurrent(tongue.tag().parse().into_iter().collect());
    // The marks that would keep writing from the right apart: no language here is written so, and paper shows them.
    bundle.set_use_isolating(false);
    bundle.set_formatter(Some(match tongue {
        Tongue::BritishEnglish | Tongue::AmericanEnglish => english,
        Tongue::German => german,
        Tongue::Spanish => spanish,
    }));
    for text in texts(tongue) {
        // What cannot be read of a file is left out, and is missed by the tests of this room.
        let file = FluentResource::try_new((*text).to_owned()).unwrap_or_else(|(file, _)| file);
        bundle.add_resource_overriding(file);
    }
    bundle
}

fn english<M>(value: &FluentValue<'_>, _: &M) -> Option<String> {
    counted(value, Tongue::BritishEnglish)
}

fn german<M>(value: &FluentValue<'_>, _: &M) -> Option<String> {
    counted(value, Tongue::German)
}

fn spanish<M>(value: &FluentValue<'_>, _: &M) -> Option<String> {
    counted(value, Tongue::Spanish)
}

fn counted(value: &FluentValue<'_>, tongue: Tongue) -> Option<String> {
    match value {
        // Only counts are numbers to Fluent.
        FluentValue::Number(number) if number.value >= 0.0 => Some(grouped(number.value as u64, tongue)),
        _ => None,
    }
}

/// What is wrong with a message. Nobody but the tests sees it: see [`crate::Words::strictly`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The language has no message of this key.
    Missing {
        /// The language.
        tongue: Tongue,
        /// The key.
        key: &'static str,
    },
    /// Something in the message cannot be put together.
    Broken {
        /// The language.
        tongue: Tongue,
        /// The key.
        key: &'static str,
        /// What.
        what: String,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::Missing { tongue, key } => write!(f, "{tongue} has no message {key}"),
            Fault::Broken { tongue, key, what } => write!(f, "{tongue}, {key}: {what}"),
        }
    }
}

impl std::error::Error for Fault {}

/// A message in a language; in British English where the language does not have it. What went wrong is added to `faults`.
pub(crate) fn put(tongue: Tongue, key: &'static str, args: &FluentArgs<'_>, faults: &mut Vec<Fault>) -> String {
    for own in [tongue, Tongue::BritishEnglish] {
        let bundle = bundle(own);
        let Some(pattern) = bundle.get_message(key).and_then(|message| message.value()) else {
            faults.push(Fault::Missing { tongue: own, key });
            continue;
        };
        let mut errors: Vec<FluentError> = Vec::new();
        let said = bundle.format_pattern(pattern, Some(args), &mut errors).into_owned();
        faults.extend(errors.into_iter().map(|what| Fault::Broken { tongue: own, key, what: what.to_string() }));
        return said;
    }
    // Nothing is left but to show which it is.
    key.to_owned()
}
