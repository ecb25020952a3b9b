//! The kinds of entries in one table: what each is called, what it holds, what may be done to it.
//!
//! A new kind is a variant of [`EntryKind`] and one line here; everything else asks the table. A kind that is left out of
//! it does not compile.

use crate::log::{EntryId, EntryKind, Row};

/// What one kind of entry is.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// Its name, as it is kept. Of a row of the sheet, also the key of the sheet that it belongs under.
    pub name: &'static str,
    /// Whether an undo may name it. What was signed is reopened instead, what was booked in is put away, what is on the
    /// grinder's paper is superseded, and flags come and go with what they are about.
    pub undoable: bool,
    /// Whether a later entry of the same kind may put it right.
    pub correctable: bool,
    /// Whether it may be written, and undone, while the job is signed off.
    pub after_signing: bool,
    /// Whether what may follow does not depend on it, so that thousands can be written without adding the job up.
    pub light: bool,
    /// What it is as a row of the sheet, where it is one.
    pub row: Option<SheetRowKind>,
}

/// A kind of entry that is a row of the sheet.
#[derive(Clone, Copy, Debug)]
pub struct SheetRowKind {
    /// The entry of a row.
    pub entry: fn(Row) -> EntryKind,
    /// The keys that name a micrometer.
    pub micrometers: &'static [&'static str],
    /// The keys without which it is no row.
    pub needs: &'static [&'static str],
}

impl Kind {
    const fn act(name: &'static str) -> Kind {
        Kind { name, undoable: true, correctable: false, after_signing: false, light: false, row: None }
    }

    const fn sheet_row(
        name: &'static str,
        entry: fn(Row) -> EntryKind,
        micrometers: &'static [&'static str],
        needs: &'static [&'static str],
    ) -> Kind {
        let row = Some(SheetRowKind { entry, micrometers, needs });
        Kind { name, undoable: true, correctable: true, after_signing: false, light: true, row }
    }

    const fn stays(self) -> Kind {
        Kind { undoable: false, ..self }
    }

    const fn corrected(self) -> Kind {
        Kind { correctable: true, ..self }
    }

    const fn after_signing(self) -> Kind {
        Kind { after_signing: true, ..self }
    }

    const fn light(self) -> Kind {
        Kind { light: true, ..self }
    }
}

macro_rules! kinds {
    (rows { $($row:ident: $name:literal, micrometers $with:expr, needs $needs:expr;)* } acts { $($act:pat => $kind:expr;)* }) => {
        /// Every kind: the rows of the sheet in the order in which a sheet lists them, then everything else.
        pub static KINDS: &[Kind] = &[
            $(Kind::sheet_row($name, EntryKind::$row, &$with, &$needs),)*
            $($kind,)*
        ];

        impl EntryKind {
            /// What kind of entry it is.
            pub fn kind(&self) -> &'static Kind {
                match self {
                    $(EntryKind::$row(_) => {
                        static KIND: Kind = Kind::sheet_row($name, EntryKind::$row, &$with, &$needs);
                        &KIND
                    })*
                    $($act => {
                        static KIND: Kind = $kind;
                        &KIND
                    })*
                }
            }

            /// The row, and what it is in the sheet, of an entry that is one.
            pub(crate) fn sheet_row(&self) -> Option<(&'static Kind, &Row)> {
                match self {
                    $(EntryKind::$row(row) => Some((self.kind(), row)),)*
                    // Named one by one: a kind that stands in neither part of the table does not compile.
                    $($act => None,)*
                }
            }
        }
    };
}

kinds! {
    rows {
        Reading: "reading", micrometers ["with"], needs ["size"];
        RunOut: "run_out", micrometers ["with"], needs [];
        Trace: "trace", micrometers ["with", "size_with"], needs [];
        Centre: "centre", micrometers ["with"], needs [];
        Damage: "damage", micrometers ["with"], needs [];
        Worn: "worn", micrometers ["with"], needs [];
        Stamped: "stamped", micrometers ["with"], needs ["undersize"];
        Housing: "housing", micrometers ["with"], needs ["size"];
        Shell: "shell", micrometers ["with"], needs [];
        Bearing: "bearing", micrometers ["with"], needs [];
        Thrust: "thrust", micrometers ["with", "housing_with", "washers_with"], needs [];
        Roughness: "roughness", micrometers [], needs ["ra"];
        Dial: "dial", micrometers ["with"], needs ["readings"];
        Height: "height", micrometers [], needs [];
        Feature: "feature", micrometers [], needs ["name"];
        Case: "case", micrometers [], needs ["depth"];
    }
    acts {
        EntryKind::BookedIn(_) => Kind::act("booked_in").stays().corrected();
        EntryKind::Instrument { .. } => Kind::act("instrument").light();
        EntryKind::MicrometerChanged { .. } => Kind::act("micrometer_changed").light();
        EntryKind::ZeroCheck { .. } => Kind::act("zero_check").light();
        EntryKind::FlagRaised { .. } => Kind::act("flag_raised").stays().light();
        EntryKind::FlagSettled { .. } => Kind::act("flag_settled").light();
        EntryKind::SecondReading { .. } => Kind::act("second_reading").light();
        EntryKind::PolicyChanged { .. } => Kind::act("policy_changed");
        EntryKind::WantedChanged { .. } => Kind::act("wanted_changed");
        EntryKind::Carried { .. } => Kind::act("carried");
        EntryKind::Decision { .. } => Kind::act("decision");
        EntryKind::SheetIssued { .. } => Kind::act("sheet_issued").stays();
        EntryKind::GroundReading(_) => Kind::act("ground_reading").corrected();
        EntryKind::CleanedUp { .. } => Kind::act("cleaned_up");
        EntryKind::SentToTreatment { .. } => Kind::act("sent_to_treatment");
        EntryKind::BackFromTreatment { .. } => Kind::act("back_from_treatment");
        EntryKind::FinalReading(_) => Kind::act("final_reading").corrected();
        EntryKind::EyeCheck { .. } => Kind::act("eye_check");
        EntryKind::SignedOff { .. } => Kind::act("signed_off").stays().after_signing();
        EntryKind::Reopened { .. } => Kind::act("reopened").stays().after_signing();
        EntryKind::HandedOver { .. } => Kind::act("handed_over").after_signing();
        EntryKind::Moved { .. } => Kind::act("moved");
        EntryKind::PutAway { .. } => Kind::act("put_away").after_signing();
        EntryKind::TakenUp => Kind::act("taken_up").after_signing();
        EntryKind::Note { .. } => Kind::act("note").after_signing().light();
        EntryKind::Photograph { .. } => Kind::act("photograph").corrected().after_signing();
        EntryKind::Undo { .. } => Kind::act("undo").stays().after_signing();
    }
}

/// The rows of the sheet: their keys and what each is, in the order in which a sheet lists them.
pub(crate) fn row_kinds() -> impl Iterator<Item = (&'static str, &'static SheetRowKind)> {
    KINDS.iter().filter_map(|kind| Some((kind.name, kind.row.as_ref()?)))
}

/// The keys of any row that name a micrometer, each once.
pub(crate) fn micrometer_keys() -> impl Iterator<Item = &'static str> {
    let all = || row_kinds().flat_map(|(_, row)| row.micrometers.iter().copied());
    all().enumerate().filter(move |(n, key)| !all().take(*n).any(|before| before == *key)).map(|(_, key)| key)
}

impl EntryKind {
    /// Whether it is a row of the sheet: what was measured or found of the crank and of its bearings.
    pub fn is_sheet_row(&self) -> bool {
        self.kind().row.is_some()
    }

    /// The name of the kind, as it is kept.
    pub fn name(&self) -> &'static str {
        self.kind().name
    }

    /// The entry that it undoes, if it is an undo.
    pub fn undoes(&self) -> Option<EntryId> {
        match self {
            EntryKind::Undo { entry } => Some(*entry),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use document::Value;

    use super::*;

    #[test]
    fn a_row_is_an_entry_of_the_kind_whose_key_it_stands_under() {
        let mut keys = Vec::new();
        for (key, row) in row_kinds() {
            let entry = (row.entry)(Row::typed(Value::Table(Vec::new())));
            assert_eq!(entry.name(), key);
            keys.push(key);
        }
        assert_eq!(keys.len(), 16);
    }

    #[test]
    fn no_two_kinds_share_a_name() {
        let mut names: Vec<&str> = KINDS.iter().map(|kind| kind.name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), KINDS.len());
    }
}
