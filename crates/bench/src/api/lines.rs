//! Lines of the two logs as they go over the wire: the log's own, each kind of log under its own name.

use serde::{Deserialize, Serialize};
use shop::{Draft, Entry, EntryId, EntryKind, ShopKind};
use utoipa::ToSchema;

macro_rules! lines {
    ($entry:ident, $draft:ident, $kind:ty) => {
        /// One line of a log as it is kept.
        #[derive(Debug, Serialize, ToSchema)]
        pub(crate) struct $entry {
            /// Its name.
            id: EntryId,
            /// The job it belongs to; 0 for the shop's own log.
            job: i64,
            /// Its place in the log: 1, 2, 3 …
            seq: i64,
            /// Who did it, by name.
            who: String,
            /// When it was done by the clock of whoever did it, RFC 3339.
            when: String,
            /// When the record got it, RFC 3339 in UTC.
            received: String,
            /// The version of the sheet whose keys it uses.
            sheet_version: u32,
            /// The entry that it puts right, if it does.
            corrects: Option<EntryId>,
            /// What was done.
            kind: $kind,
        }

        impl From<Entry<$kind>> for $entry {
            fn from(entry: Entry<$kind>) -> $entry {
                let Entry { id, job, seq, who, when, received, sheet_version, corrects, kind } = entry;
                $entry { id, job, seq, who, when, received, sheet_version, corrects, kind }
            }
        }

        /// One line that is to be written.
        #[derive(Debug, Deserialize, ToSchema)]
        #[serde(deny_unknown_fields)]
        pub(crate) struct $draft {
            /// Its name, made by the sender. The same name with the same content is kept once, however often it is sent.
            id: EntryId,
            /// Who did it, by name.
            #[schema(min_length = 1, max_length = 200, example = "Rowan Hale")]
            who: String,
            /// When it was done, RFC 3339.
            #[schema(format = DateTime)]
            when: String,
            /// The entry that it puts right, if it does; of the same kind.
            #[serde(default)]
            corrects: Option<EntryId>,
            /// What was done.
            kind: $kind,
        }

        impl From<$draft> for Draft<$kind> {
            fn from(draft: $draft) -> Draft<$kind> {
                let $draft { id, who, when, corrects, kind } = draft;
                Draft { id, who, when, corrects, kind }
            }
        }
    };
}

lines!(JobEntry, JobDraft, EntryKind);
lines!(ShopEntry, ShopDraft, ShopKind);
