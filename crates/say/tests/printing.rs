//! Names and figures in each language, against the shared glossary's rules of numbers, units, days and names.

use journal::{JournalId, SetName};
use say::{Chance, CrankpinWord, Message, Moment, Quantity, Size, Tongue, Words};
use units::{Length, Unit};

fn in_all(quantity: &Quantity) -> [String; 4] {
    Tongue::ALL.map(|tongue| Words::from(tongue).named(quantity))
}

const fn pin(number: usize) -> JournalId {
    JournalId { set: SetName::Pin, number }
}

const fn main(number: usize) -> JournalId {
    JournalId { set: SetName::Main, number }
}

#[test]
fn journals_and_sets_have_the_trades_name_in_each_language() {
    let at_the_head = |id| Tongue::ALL.map(|tongue| Words::from(tongue).journal(id));
    assert_eq!(at_the_head(pin(2)), ["Pin 2", "Rod journal 2", "Hubzapfen 2", "Muñequilla 2"]);
    assert_eq!(at_the_head(main(3)), ["Main 3", "Main 3", "Hauptlagerzapfen 3", "Apoyo de bancada 3"]);
    let within = |set| Tongue::ALL.map(|tongue| Words::from(tongue).set_within(set));
    assert_eq!(within(SetName::Pin), ["pins", "rod journals", "Hubzapfen", "muñequillas"]);
    assert_eq!(within(SetName::Main), ["mains", "mains", "Hauptlagerzapfen", "apoyos de bancada"]);
    let one = |set| Tongue::ALL.map(|tongue| Words::from(tongue).one_of(set));
    assert_eq!(one(SetName::Pin), ["pin", "rod journal", "Hubzapfen", "muñequilla"]);
    let big = Words { pin: CrankpinWord::BigEnd, ..Words::default() };
    assert_eq!(
        (big.journal(pin(4)), big.set_within(SetName::Pin), big.one_of(SetName::Pin)),
        ("Big end 4".into(), "big ends".into(), "big end".into())
    );
    assert_eq!(big.journal(main(4)), "Main 4");
}

/// A number of a journal is a name: it has no mark between thousands and is no plural.
#[test]
fn journals_are_listed_as_people_say_them() {
    let journals = |numbers: &[usize]| Quantity::Journals(numbers.iter().map(|&number| pin(number)).collect());
    assert_eq!(in_all(&journals(&[1250])), ["pin 1250", "rod journal 1250", "Hubzapfen 1250", "muñequilla 1250"]);
    assert_eq!(
        in_all(&journals(&[1, 2])),
        ["pins 1 and 2", "rod journals 1 and 2", "Hubzapfen 1 und 2", "muñequillas 1 y 2"]
    );
    assert_eq!(
        in_all(&journals(&[1, 2, 3, 4])),
        ["pins 1 to 4", "rod journals 1 to 4", "Hubzapfen 1 bis 4", "muñequillas 1 a 4"]
    );
    assert_eq!(
        in_all(&journals(&[1, 2, 4])),
        ["pins 1, 2 and 4", "rod journals 1, 2 and 4", "Hubzapfen 1, 2 und 4", "muñequillas 1, 2 y 4"]
    );
    assert_eq!(in_all(&journals(&[])), [""; 4]);
}

#[test]
fn sizes_keep_the_digits_that_they_came_with() {
    let size = |text: Size| in_all(&Quantity::Size(text));
    let inch = Size::of_length(Length::from_nm(53_708_300), Unit::Inch, 4);
    assert_eq!(size(inch), ["2.1145 in", "2.1145 in", "2,1145 in", "2,1145 in"]);
    let mm = Size::of_mm(53.7, Unit::Millimetre, 2);
    assert_eq!(size(mm), ["53.70 mm", "53.70 mm", "53,70 mm", "53,70 mm"]);
    // No mark between thousands: read as a decimal it would be a thousandfold wrong.
    assert_eq!(size(Size::of_mm(1250.5, Unit::Millimetre, 1))[2..], ["1250,5 mm", "1250,5 mm"]);
    assert_eq!(size(Size::in_microns(0.003, 0)), ["3 µm"; 4]);
    let window = Quantity::Window(Size::of_mm(47.612, Unit::Millimetre, 3), Size::of_mm(47.625, Unit::Millimetre, 3));
    assert_eq!(
        in_all(&window),
        ["47.612 to 47.625 mm", "47.612 to 47.625 mm", "47,612 bis 47,625 mm", "de 47,612 a 47,625 mm"]
    );
}

#[test]
fn undersizes_are_never_converted_and_never_in_capitals() {
    let under = |mm, unit| in_all(&Quantity::Undersize(Size::of_undersize_mm(mm, unit)));
    assert_eq!(
        under(0.254, Unit::Inch),
        ["0.010 in under", "0.010 in under", "Untermaß 0,010 in", "submedida 0,010 in"]
    );
    assert_eq!(under(0.25, Unit::Inch)[0], "0.25 mm under");
    assert_eq!(under(0.25, Unit::Millimetre)[2], "Untermaß 0,25 mm");
}

#[test]
fn a_chance_is_so_many_in_a_hundred() {
    let chance = |share| in_all(&Quantity::Chance(Chance(share)));
    assert_eq!(chance(0.97), ["97 in 100", "97 in 100", "97 von 100", "97 de cada 100"]);
    assert_eq!(
        chance(1.0),
        ["more than 99 in 100", "more than 99 in 100", "mehr als 99 von 100", "más de 99 de cada 100"]
    );
    assert_eq!(chance(0.0)[1..3], ["fewer than 1 in 100", "weniger als 1 von 100"]);
}

/// The conversions by NIST SP 811, B.8: 110 Nm are 81.13 lbf ft, 0.3 bar are 4.351 psi, 4.9 bar 71.07 psi.
#[test]
fn units_are_those_of_the_country() {
    assert_eq!(in_all(&Quantity::Celsius(20.0)), ["20 °C", "68 °F", "20 °C", "20 °C"]);
    assert_eq!(
        in_all(&Quantity::NewtonMetres(110.0)),
        ["110 Nm (81 lbf ft)", "81 lbf·ft (110 N·m)", "110 Nm", "110 N·m"]
    );
    assert_eq!(in_all(&Quantity::Bar(0.3)), ["0.3 bar (4 psi)", "4 psi", "0,3 bar", "0,3 bar"]);
    assert_eq!(in_all(&Quantity::Bar(4.9))[1], "71 psi");
}

#[test]
fn days_and_times_are_those_of_the_country() {
    let moment = Moment { year: 2026, month: 11, day: 30, hour: 14, minute: 5 };
    let day = Quantity::Moment(moment);
    assert_eq!(in_all(&day), ["30 November 2026", "November 30, 2026", "30.11.2026", "30 de noviembre de 2026"]);
    let says = |moment: Moment, key: &'static str| {
        Tongue::ALL.map(|tongue| Words::from(tongue).say(&Message::new(key).with("when", moment)))
    };
    assert_eq!(says(moment, "at-that-time"), ["14:05", "2:05 p.m.", "14:05 Uhr", "14:05 h"]);
    assert_eq!(says(moment, "on-that-day"), ["30 Nov 2026", "Nov 30, 2026", "30.11.2026", "30/11/2026"]);
    for (hour, told) in [(0, "12:05 a.m."), (9, "9:05 a.m."), (12, "12:05 p.m."), (23, "11:05 p.m.")] {
        let at = Message::new("at-that-time").with("when", Moment { hour, ..moment });
        assert_eq!(Words::from(Tongue::AmericanEnglish).say(&at), told);
    }
}

#[test]
fn lists_end_in_and_or_or() {
    let of = |names: &[&str]| names.iter().map(|&name| Quantity::Typed(name.to_owned())).collect::<Vec<_>>();
    let names = ["A. Marsh", "Pin and Sons", "Irene"];
    assert_eq!(
        in_all(&Quantity::All(of(&names))),
        [
            "A. Marsh, Pin and Sons and Irene",
            "A. Marsh, Pin and Sons and Irene",
            "A. Marsh, Pin and Sons und Irene",
            "A. Marsh, Pin and Sons e Irene"
        ]
    );
    let spanish = |last| Words::from(Tongue::Spanish).named(&Quantity::Any(of(&["A", last])));
    assert_eq!(
        [spanish("B"), spanish("Oskar"), spanish("8"), spanish("11"), spanish("Hobart")],
        ["A o B", "A u Oskar", "A u 8", "A u 11", "A u Hobart"]
    );
    let spanish = |last| Words::from(Tongue::Spanish).named(&Quantity::All(of(&["A", last])));
    assert_eq!([spanish("Hierro"), spanish("Hijos"), spanish("8")], ["A y Hierro", "A e Hijos", "A y 8"]);
}

/// One and other, by the rules of each language: in all four nought is counted as many.
#[test]
fn counts_have_their_plural() {
    let jobs = |count| Tongue::ALL.map(|tongue| Words::from(tongue).say(&Message::new("spots").count("count", count)));
    assert_eq!(jobs(1), ["1 spot", "1 spot", "1 Messstelle", "1 punto de medida"]);
    for (count, many) in [
        (0, ["0 spots", "0 spots", "0 Messstellen", "0 puntos de medida"]),
        (36, ["36 spots", "36 spots", "36 Messstellen", "36 puntos de medida"]),
        (1250, ["1,250 spots", "1,250 spots", "1\u{202f}250 Messstellen", "1250 puntos de medida"]),
    ] {
        assert_eq!(jobs(count), many);
    }
}

#[test]
fn a_language_that_no_grinder_read_says_so() {
    let read_by = |tongue| Words::from(tongue).say(&Message::new("read-by"));
    assert_eq!(read_by(Tongue::BritishEnglish), "");
    assert!(read_by(Tongue::German).contains("noch kein Schleifer gelesen"));
    assert!(read_by(Tongue::Spanish).contains("Ningún rectificador"));
}

#[test]
fn a_setting_names_a_way_to_speak_and_an_unknown_one_the_usual() {
    for (setting, words) in Words::SETTINGS {
        assert_eq!(Words::of_setting(Some(setting)), words);
    }
    assert_eq!(Words::of_setting(Some("de")), Words::from(Tongue::German));
    for unknown in [None, Some(""), Some("Klingon")] {
        assert_eq!(Words::of_setting(unknown), Words::default());
    }
}
