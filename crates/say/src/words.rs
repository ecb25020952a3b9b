//! How one shop speaks.

use fluent_bundle::{FluentArgs, FluentValue};
use journal::{JournalId, SetName};

use crate::figures::{Moment, Size, decimal};
use crate::languages::{Fault, put};
use crate::message::{Message, Quantity, Told};
use crate::tongue::Tongue;

/// What a British shop calls the journal that a rod runs on. Every other language has one word.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum CrankpinWord {
    /// Crankpin, in short pin.
    #[default]
    Pin,
    /// By what runs on it.
    BigEnd,
}

/// One shop's way of speaking: its language, and its own word for a crankpin.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Words {
    /// The language.
    pub tongue: Tongue,
    /// The word for a crankpin, where the language leaves a choice.
    pub pin: CrankpinWord,
}

impl From<Tongue> for Words {
    fn from(tongue: Tongue) -> Words {
        Words { tongue, pin: CrankpinWord::Pin }
    }
}

/// With a capital first letter, as a sentence begins.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

impl Words {
    /// The ways that a shop may choose of, each with what the setting holds for it.
    pub const SETTINGS: [(&'static str, Words); 3] = [
        ("pin", Words { tongue: Tongue::BritishEnglish, pin: CrankpinWord::Pin }),
        ("big end", Words { tongue: Tongue::BritishEnglish, pin: CrankpinWord::BigEnd }),
        ("rod journal", Words { tongue: Tongue::AmericanEnglish, pin: CrankpinWord::Pin }),
    ];

    /// The way that a shop's setting `words` holds: `pin`, `big end`, `rod journal`, or the tag of a language; the usual
    /// one where it holds something else.
    pub fn of_setting(setting: Option<&str>) -> Words {
        let Some(setting) = setting else { return Words::default() };
        let known = Words::SETTINGS.into_iter().find(|(word, _)| *word == setting);
        known.map(|(_, words)| words).or_else(|| setting.parse().ok().map(Tongue::into)).unwrap_or_default()
    }

    /// A sentence in this language; in British English where it has none.
    pub fn say(self, told: &impl Told) -> String {
        self.whole(&told.message(), &mut Vec::new())
    }

    /// The same, for tests: nothing falls back and nothing is left out.
    ///
    /// # Errors
    /// Everything that this language cannot say of it.
    pub fn strictly(self, told: &impl Told) -> Result<String, Vec<Fault>> {
        let mut faults = Vec::new();
        let said = self.whole(&told.message(), &mut faults);
        if faults.is_empty() { Ok(said) } else { Err(faults) }
    }

    /// `Main 3`, `Rod journal 2`: at the head of a sentence or in a table.
    pub fn journal(self, id: JournalId) -> String {
        capital(&self.journal_within(id))
    }

    /// `main 3`, `rod journal 2`: in the middle of a sentence. In German a noun keeps its capital there.
    pub fn journal_within(self, id: JournalId) -> String {
        self.named(&Quantity::Journal(id))
    }

    /// A journal as a record or a sheet names it (`pin 2`), at the head of a sentence; what names none is left as it is.
    pub fn journal_named(self, recorded: &str) -> String {
        recorded.parse().map_or_else(|_| recorded.trim().to_owned(), |id| self.journal(id))
    }

    /// `Mains`, `Rod journals`: at the head of a sentence or in a table.
    pub fn set(self, set: SetName) -> String {
        capital(&self.set_within(set))
    }

    /// `mains`, `rod journals`: in the middle of a sentence.
    pub fn set_within(self, set: SetName) -> String {
        self.named(&Quantity::Set(set))
    }

    /// `main`, `rod journal`: one of a set, whichever.
    pub fn one_of(self, set: SetName) -> String {
        self.named(&Quantity::OneOf(set))
    }

    /// Something that may stand in a sentence, by itself.
    pub fn named(self, quantity: &Quantity) -> String {
        self.show(quantity, &mut Vec::new())
    }

    fn own_pin(self) -> FluentValue<'static> {
        FluentValue::from(match self.pin {
            CrankpinWord::Pin => "pin",
            CrankpinWord::BigEnd => "big-end",
        })
    }

    fn whole(self, message: &Message, faults: &mut Vec<Fault>) -> String {
        let mut args = FluentArgs::new();
        args.set("pin", self.own_pin());
        for (name, quantity) in &message.with {
            self.add(&mut args, name, quantity, faults);
        }
        put(self.tongue, message.key, &args, faults)
    }

    /// Everything that a message may print of a quantity.
    fn add(self, args: &mut FluentArgs<'_>, name: &str, quantity: &Quantity, faults: &mut Vec<Fault>) {
        let is = |set: SetName| FluentValue::from(set.word());
        match quantity {
            Quantity::Count(count) => return args.set(name.to_owned(), FluentValue::from(*count as f64)),
            Quantity::Journal(JournalId { set, .. }) | Quantity::Set(set) | Quantity::OneOf(set) => {
                args.set(format!("{name}-is"), is(*set))
            }
            Quantity::Journals(journals) => {
                args.set(format!("{name}-count"), FluentValue::from(journals.len() as f64));
                if let Some(first) = journals.first() {
                    args.set(format!("{name}-is"), is(first.set));
                }
            }
            Quantity::All(items) | Quantity::Any(items) | Quantity::Listed(items) => {
                args.set(format!("{name}-count"), FluentValue::from(items.len() as f64));
            }
            Quantity::Chance(chance) => {
                let own = FluentArgs::from_iter([("chance", FluentValue::from(chance.likelihood()))]);
                args.set(format!("{name}-words"), put(self.tongue, "likelihood", &own, faults));
            }
            Quantity::Moment(moment) => {
                let own = of_moment(*moment);
                args.set(format!("{name}-short"), put(self.tongue, "date-short", &own, faults));
                args.set(format!("{name}-time"), put(self.tongue, "time", &own, faults));
            }
            _ => {}
        }
        let shown = self.show(quantity, faults);
        if !matches!(quantity, Quantity::Case(_) | Quantity::Typed(_) | Quantity::Number(_)) {
            args.set(format!("{name}-start"), capital(&shown));
        }
        args.set(name.to_owned(), shown);
    }

    /// A quantity as it stands in the middle of a sentence.
    fn show(self, quantity: &Quantity, faults: &mut Vec<Fault>) -> String {
        let mut said = |key: &'static str, args: &[(&'static str, String)]| {
            let mut own: FluentArgs<'_> =
                args.iter().map(|(name, text)| (*name, FluentValue::from(text.as_str()))).collect();
            own.set("pin", self.own_pin());
            put(self.tongue, key, &own, faults)
        };
        let set_word = |set: SetName| set.word().to_owned();
        match quantity {
            Quantity::Journal(id) => said("journal", &[("set", set_word(id.set)), ("number", id.number.to_string())]),
            Quantity::Set(set) => said("set", &[("set", set_word(*set))]),
            Quantity::OneOf(set) => said("one-of-set", &[("set", set_word(*set))]),
            Quantity::Listed(items) => {
                let items: Vec<String> = items.iter().map(|item| self.show(item, faults)).collect();
                self.in_a_row(&items, faults)
            }
            Quantity::Journals(journals) => self.journals(journals, faults),
            Quantity::Size(size) => said("size", &self.size(size)),
            Quantity::Window(from, to) => {
                let (from, to, unit) = (from.figure(self.tongue), to.figure(self.tongue), to.unit());
                said("window", &[("from", from), ("to", to), ("unit", unit.to_owned())])
            }
            Quantity::Undersize(size) => {
                let size = said("size", &self.size(size));
                said("undersize", &[("size", size)])
            }
            Quantity::Chance(chance) => {
                let (case, figure) = chance.in_hundred();
                said("in-hundred", &[("chance", case.to_owned()), ("figure", figure)])
            }
            Quantity::Moment(moment) => put(self.tongue, "date", &of_moment(*moment), faults),
            Quantity::Celsius(celsius) => {
                let (celsius, fahrenheit) = (self.figure(*celsius, 0), self.figure(celsius * 1.8 + 32.0, 0));
                said("temperature", &[("celsius", celsius), ("fahrenheit", fahrenheit)])
            }
            Quantity::NewtonMetres(newton_metres) => {
                /// One pound-force foot: 4.448 221 615 260 5 N by 0.3048 m, both exact (NIST SP 811, B.8).
                const POUND_FOOT: f64 = 4.448_221_615_260_5 * 0.3048;
                let pounds = self.figure(newton_metres / POUND_FOOT, 0);
                said("torque", &[("newton-metres", self.figure(*newton_metres, 0)), ("pound-feet", pounds)])
            }
            Quantity::Bar(bar) => {
                /// One pound-force on a square inch: 4.448 221 615 260 5 N on 0.0254 m squared (NIST SP 811, B.8), in bar.
                const PSI: f64 = 4.448_221_615_260_5 / (0.0254 * 0.0254) / 1e5;
                said("pressure", &[("bar", self.figure(*bar, 1)), ("psi", self.figure(bar / PSI, 0))])
            }
            Quantity::Count(count) => crate::figures::grouped(*count as u64, self.tongue),
            Quantity::Number(figure) => decimal(figure, self.tongue),
            Quantity::Case(case) => (*case).to_owned(),
            Quantity::Typed(text) => text.clone(),
            Quantity::Said(message) => self.whole(message, faults),
            Quantity::All(items) => self.list("list-and", items, faults),
            Quantity::Any(items) => self.list("list-or", items, faults),
        }
    }

    fn size(self, size: &Size) -> [(&'static str, String); 2] {
        [("figure", size.figure(self.tongue)), ("unit", size.unit().to_owned())]
    }

    fn figure(self, value: f64, decimals: usize) -> String {
        decimal(&format!("{value:.decimals$}"), self.tongue)
    }

    fn list(self, key: &'static str, items: &[Quantity], faults: &mut Vec<Fault>) -> String {
        let items: Vec<String> = items.iter().map(|item| self.show(item, faults)).collect();
        self.joined(key, &items, faults)
    }

    fn joined(self, key: &'static str, items: &[String], faults: &mut Vec<Fault>) -> String {
        let Some((last, before)) = items.split_last() else { return String::new() };
        if before.is_empty() {
            return last.clone();
        }
        let most = self.in_a_row(before, faults);
        let args = FluentArgs::from_iter([
            ("most", FluentValue::from(most)),
            ("last", FluentValue::from(last.as_str())),
            ("sound", FluentValue::from(sound(last))),
        ]);
        put(self.tongue, key, &args, faults)
    }

    fn in_a_row(self, items: &[String], faults: &mut Vec<Fault>) -> String {
        let Some((first, rest)) = items.split_first() else { return String::new() };
        let mut most = first.clone();
        for next in rest {
            let args =
                FluentArgs::from_iter([("most", FluentValue::from(most)), ("next", FluentValue::from(next.as_str()))]);
            most = put(self.tongue, "list-more", &args, faults);
        }
        most
    }

    /// `pin 3`, `pins 1 and 2`, `mains 1 to 5`: journals of one set.
    fn journals(self, journals: &[JournalId], faults: &mut Vec<Fault>) -> String {
        let (first, last) = match journals {
            [] => return String::new(),
            [one] => return self.show(&Quantity::Journal(*one), faults),
            [first, .., last] => (first, last),
        };
        let in_a_row = journals.windows(2).all(|pair| matches!(pair, [a, b] if a.number + 1 == b.number));
        let mut args = FluentArgs::from_iter([("set", FluentValue::from(first.set.word())), ("pin", self.own_pin())]);
        if in_a_row && journals.len() > 2 {
            args.set("first", first.number.to_string());
            args.set("last", last.number.to_string());
            return put(self.tongue, "journals-in-a-row", &args, faults);
        }
        let numbers: Vec<String> = journals.iter().map(|journal| journal.number.to_string()).collect();
        args.set("numbers", self.joined("list-and", &numbers, faults));
        put(self.tongue, "journals-listed", &args, faults)
    }
}

/// How a word begins to be spoken, where a language minds what the next word begins with: Spanish, of i and of o.
fn sound(word: &str) -> &'static str {
    let word = word.to_lowercase();
    let digits: String = word.chars().take_while(char::is_ascii_digit).collect();
    // ocho, ochenta, ochocientos; once. A word that begins with hie is spoken ye.
    if digits == "11" || digits.starts_with('8') && digits.len() <= 3 {
        return "o";
    }
    let spoken = word.strip_prefix('h').unwrap_or(&word);
    match spoken.chars().next() {
        Some('i' | 'í') if !spoken.starts_with("ie") => "i",
        Some('o' | 'ó') => "o",
        _ => "other",
    }
}

fn of_moment(moment: Moment) -> FluentArgs<'static> {
    let two = |number: u8| FluentValue::from(format!("{number:02}"));
    let hour_of_twelve = if moment.hour.is_multiple_of(12) { 12 } else { moment.hour % 12 };
    FluentArgs::from_iter([
        ("year", FluentValue::from(moment.year.to_string())),
        // A number, for the names of the months are chosen by it.
        ("month", FluentValue::from(moment.month)),
        ("month-of-two", two(moment.month)),
        ("day", FluentValue::from(moment.day.to_string())),
        ("day-of-two", two(moment.day)),
        ("hour", FluentValue::from(format!("{:02}", moment.hour))),
        ("hour-of-twelve", FluentValue::from(hour_of_twelve.to_string())),
        ("half-of-day", FluentValue::from(if moment.hour < 12 { "morning" } else { "afternoon" })),
        ("minute", two(moment.minute)),
    ])
}
