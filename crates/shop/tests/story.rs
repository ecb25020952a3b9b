//! One story for every store: what SQLite must do, PostgreSQL must do.

mod support;

use std::sync::Arc;

use shop::{
    Appended, Draft, EntryId, EntryKind, MOST_PICTURE_MB, Settled, ShopKind, Stage, Store, StoreError, Value, Wanted,
    WorkedOut, entry_of, fold,
};
use support::{Postgres, booked, draft, folder, id, reading};

async fn write(store: &Store, job: i64, seen: i64, draft: Draft) -> i64 {
    match store.append(job, seen, &[draft]).await.unwrap() {
        Appended::Written { seq } => seq,
        other => panic!("not written: {other:?}"),
    }
}

async fn story(store: Store) {
    booking_in_is_repeat_safe(&store).await;
    two_people_on_one_job(&store).await;
    undo_and_redo(&store).await;
    what_is_refused_leaves_nothing(&store).await;
    a_sign_off_freezes_the_job(&store).await;
    lists_and_searches(&store).await;
    the_shops_own_log(&store).await;
    photographs(&store).await;
    twenty_writers(&store).await;
    a_writer_may_add_up_itself(&store).await;
    let checked = store.verify().await.unwrap();
    assert_eq!(checked.faults, Vec::<String>::new());
    assert!(checked.jobs >= 6 && checked.entries > 60 && checked.pictures == 1, "{checked:?}");
    store.close().await;
}

async fn booking_in_is_repeat_safe(store: &Store) {
    let drafts = [booked("C-0412", "A. Miller"), reading("0", "1.2450"), reading("90", "1.2470")];
    let first = store.book_in(&drafts).await.unwrap();
    assert_eq!((first.job, first.seq, first.repeated), (1001, 3, false));
    let again = store.book_in(&drafts).await.unwrap();
    assert_eq!((again.job, again.seq, again.repeated), (1001, 3, true));
    let job = store.job(1001).await.unwrap();
    assert_eq!((job.seq, job.stage), (3, Stage::Measuring));
    // What was typed comes back to the last digit.
    assert!(job.sheet_json().contains("1.2450"), "{}", job.sheet_json());
}

async fn two_people_on_one_job(store: &Store) {
    let sam = reading("0", "1.2451");
    assert_eq!(write(store, 1001, 3, sam.clone()).await, 4);
    // Pat had seen three entries: told what came between, nothing written.
    let pat = reading("90", "1.2471");
    match store.append(1001, 3, std::slice::from_ref(&pat)).await.unwrap() {
        Appended::Behind { since, seq } => {
            assert_eq!(seq, 4);
            assert_eq!(since.iter().map(|e| e.id).collect::<Vec<_>>(), [sam.id]);
        }
        other => panic!("{other:?}"),
    }
    let (seq, between) = store.append_keeping(1001, 3, std::slice::from_ref(&pat)).await.unwrap();
    assert_eq!((seq, between.len()), (5, 1));
    // Sent again after a lost answer: kept once.
    assert_eq!(store.append(1001, 3, std::slice::from_ref(&pat)).await.unwrap(), Appended::Repeated { seq: 5 });
    let other = Draft { who: "Sam".into(), ..pat.clone() };
    assert!(matches!(store.append(1001, 5, &[other]).await, Err(StoreError::NameTaken(name)) if name == pat.id));
    assert!(matches!(
        store.append(1001, 9, &[reading("0", "1.2")]).await,
        Err(StoreError::SeenTooMuch { last: 5, .. })
    ));
    assert!(matches!(store.append(4711, 0, &[reading("0", "1.2")]).await, Err(StoreError::NoSuchJob(4711))));
    assert!(matches!(store.entries(4711, 0).await, Err(StoreError::NoSuchJob(4711))));
}

/// What a writer worked out is taken where it fits what is written, and only there: the look through all logs at the end of
/// the story finds a list of jobs that is out of step.
async fn a_writer_may_add_up_itself(store: &Store) {
    let job = store.book_in(&[booked("C-0999", "B. Baker")]).await.unwrap().job;
    let mut entries = store.entries(job, 0).await.unwrap();
    let before = Arc::new(fold(&entries));
    let first = reading("0", "1.2450");
    entries.push(entry_of(&first, job, 2, "2026-11-25T09:00:01Z"));
    let after = Arc::new(fold(&entries));
    let known = || WorkedOut { before: Arc::clone(&before), after: Arc::clone(&after) };
    let written = store.append_worked_out(job, std::slice::from_ref(&first), known()).await.unwrap();
    assert_eq!(written, Appended::Written { seq: 2 });
    assert_eq!(store.job(job).await.unwrap(), *after);
    // Somebody who saw less than is there has worked out something else.
    let second = reading("90", "1.2470");
    let behind = store.append_worked_out(job, std::slice::from_ref(&second), known()).await.unwrap();
    assert!(matches!(behind, Appended::Behind { seq: 2, .. }), "{behind:?}");
    let wrong = WorkedOut { before: Arc::clone(&after), after: Arc::clone(&before) };
    let written = store.append_worked_out(job, &[second], wrong).await.unwrap();
    assert_eq!(written, Appended::Written { seq: 3 });
    // What is not admitted is not written, whoever added up.
    let before = Arc::new(store.job(job).await.unwrap());
    let undo = draft(EntryKind::Undo { entry: EntryId::from_bits(7) });
    let known = WorkedOut { before: Arc::clone(&before), after: before };
    assert!(matches!(store.append_worked_out(job, &[undo], known).await, Err(StoreError::Refused(_))));
}

async fn undo_and_redo(store: &Store) {
    let before = store.job(1001).await.unwrap();
    let last = before.next_undo.expect("a reading can be undone");
    let undo = draft(EntryKind::Undo { entry: last });
    let seq = write(store, 1001, before.seq, undo.clone()).await;
    let undone = store.job(1001).await.unwrap();
    assert_eq!(undone.rows.len() + 1, before.rows.len());
    assert_eq!(undone.next_redo, Some(undo.id));
    let redo = draft(EntryKind::Undo { entry: undo.id });
    write(store, 1001, seq, redo).await;
    let redone = store.job(1001).await.unwrap();
    assert_eq!(redone.document, before.document, "redo brings back what was there");
}

async fn what_is_refused_leaves_nothing(store: &Store) {
    let seq = store.job(1001).await.unwrap().seq;
    let nonsense = [
        draft(EntryKind::Undo { entry: id() }),
        draft(EntryKind::FlagSettled { flag: id(), how: Settled::Kept }),
        booked("C-0999", "somebody"),
        Draft { who: String::new(), ..reading("0", "1.2450") },
        draft(EntryKind::SignedOff { document_hash: "00".into(), says: "I measured it.".into() }),
    ];
    for wrong in nonsense {
        // A good line before a bad one is not kept either.
        let batch = [reading("0", "1.2449"), wrong];
        let found = store.append(1001, seq, &batch).await;
        assert!(matches!(found, Err(StoreError::Refused(_))), "{found:?}");
    }
    assert_eq!(store.job(1001).await.unwrap().seq, seq);
}

async fn a_sign_off_freezes_the_job(store: &Store) {
    let job = store.book_in(&[booked("C-0413", "B. Ö'Brien <b>")]).await.unwrap().job;
    let seq = write(store, job, 1, reading("0", "1.2400")).await;
    let hash = store.job(job).await.unwrap().frozen_hash();
    let signed = draft(EntryKind::SignedOff { document_hash: hash, says: "I measured this spot.".into() });
    let seq = write(store, job, seq, signed).await;
    assert!(store.job(job).await.unwrap().signed_off.is_some());
    assert!(matches!(store.append(job, seq, &[reading("0", "1.2399")]).await, Err(StoreError::Refused(_))));
    let seq = write(store, job, seq, draft(EntryKind::Reopened { reason: "the owner asked".into() })).await;
    write(store, job, seq, reading("0", "1.2399")).await;
    let reopened = store.job(job).await.unwrap();
    assert_eq!((reopened.revision, reopened.signed_off.is_some()), (2, false));
}

async fn lists_and_searches(store: &Store) {
    let find = async |search: &str| {
        let wanted = Wanted { search: search.into(), ..Wanted::default() };
        store.jobs(&wanted).await.unwrap().jobs.into_iter().map(|head| head.mark).collect::<Vec<_>>()
    };
    assert_eq!(find("miller").await, ["C-0412"]);
    assert_eq!(find("ö'brien <B>").await, ["C-0413"]);
    assert_eq!(find("1001").await, ["C-0412"]);
    assert_eq!(find("446118").await.len(), 2);
    assert_eq!(find("100%").await, Vec::<String>::new());
    let all = store.jobs(&Wanted::default()).await.unwrap();
    assert_eq!((all.all, all.from, all.jobs.len()), (2, 1, 2));
    let measuring = store.stages().await.unwrap().into_iter().find(|(stage, _)| *stage == Stage::Measuring).unwrap();
    assert!(measuring.1 >= 1);
}

async fn the_shops_own_log(store: &Store) {
    let put = |kind: ShopKind| Draft::new(id(), "Pat", "2026-11-25T09:00:00Z", kind);
    let settings = put(ShopKind::Settings { settings: Value::table([("words", Value::from("pin"))]) });
    let person = put(ShopKind::Person { name: "Pat".into() });
    let written = store.append_to_shop(0, &[settings, person]).await.unwrap();
    assert_eq!(written, Appended::Written { seq: 2 });
    let shop = store.shop().await.unwrap();
    assert_eq!(shop.people, ["Pat"]);
    assert_eq!(shop.setting("words"), Some("pin"));
    // The name of a line in one log is nobody's in another.
    let taken = put(ShopKind::Note { text: "Closed on Friday.".into() });
    store.append_to_shop(2, std::slice::from_ref(&taken)).await.unwrap();
    let draft = Draft { id: taken.id, ..booked("C-0499", "A. Miller") };
    assert_eq!(store.book_in(&[draft]).await, Err(StoreError::NameTaken(taken.id)));
    let draft = Draft { id: taken.id, ..reading("0", "1.2450") };
    let seq = store.head(1001).await.unwrap().seq;
    assert_eq!(store.append(1001, seq, &[draft]).await, Err(StoreError::NameTaken(taken.id)));
}

async fn photographs(store: &Store) {
    let mut png = Vec::new();
    let picture = image::RgbImage::from_fn(40, 30, |x, y| image::Rgb([x as u8 * 6, y as u8 * 8, 90]));
    image::DynamicImage::from(picture).write_to(&mut std::io::Cursor::new(&mut png), image::ImageFormat::Png).unwrap();
    // Something that a camera might have put in: it must not be kept.
    let secret = b"tEXtLocation 51.6214 N";
    png.extend_from_slice(secret);
    let kept = store.keep_picture(png.clone()).await.unwrap();
    assert_eq!((kept.width, kept.height), (40, 30));
    assert_eq!(store.keep_picture(png).await.unwrap(), kept, "the same picture is kept once");
    let jpeg = store.picture(&kept.hash).await.unwrap();
    assert!(jpeg.starts_with(&[0xff, 0xd8]) && !jpeg.windows(8).any(|w| w == b"Location"));
    assert!(matches!(store.keep_picture(b"no picture".to_vec()).await, Err(StoreError::NotAPicture { .. })));
    let huge = vec![0; MOST_PICTURE_MB * 1_000_000 + 1];
    assert!(matches!(store.keep_picture(huge).await, Err(StoreError::PictureTooLarge { .. })));
    let shown =
        |hash: &str| draft(EntryKind::Photograph { picture: hash.into(), caption: "scores".into(), journal: None });
    let seq = store.job(1001).await.unwrap().seq;
    let missing = store.append(1001, seq, &[shown(&"0".repeat(64))]).await;
    assert!(matches!(missing, Err(StoreError::NoSuchPicture)), "{missing:?}");
    write(store, 1001, seq, shown(&kept.hash)).await;
}

/// Twenty people at once, half of them on one job: nothing is lost, nothing is doubled.
async fn twenty_writers(store: &Store) {
    let job = store.book_in(&[booked("C-0500", "everybody")]).await.unwrap().job;
    let mut writers = Vec::new();
    for writer in 0..20 {
        let store = store.clone();
        writers.push(tokio::spawn(async move {
            let own = if writer % 2 == 0 {
                job
            } else {
                store.book_in(&[booked(&format!("C-06{writer:02}"), "one of many")]).await.unwrap().job
            };
            let mut written: Vec<EntryId> = Vec::new();
            for k in 0..3 {
                let draft = reading("0", &format!("1.24{writer:02}{k}"));
                store.append_keeping(own, 1, std::slice::from_ref(&draft)).await.unwrap();
                // The answer is lost and the same is sent again.
                store.append_keeping(own, 1, std::slice::from_ref(&draft)).await.unwrap();
                written.push(draft.id);
            }
            (own, written)
        }));
    }
    let mut on_one = 0;
    for writer in writers {
        let (own, written) = writer.await.unwrap();
        let entries = store.entries(own, 0).await.unwrap();
        for id in written {
            assert_eq!(entries.iter().filter(|entry| entry.id == id).count(), 1);
            on_one += usize::from(own == job);
        }
    }
    assert_eq!(store.job(job).await.unwrap().seq, 1 + on_one as i64);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_story_on_sqlite() {
    let file = folder("story").join("shop.tenunder");
    story(Store::open(file.to_str().unwrap()).await.unwrap()).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_story_on_postgresql() {
    let server = Postgres::start("story");
    story(Store::open(&server.address()).await.unwrap()).await;
}

/// The story again as a role that may do only what `docs/postgresql.md` grants; the tables are made by their owner.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_story_with_the_least_rights() {
    let server = Postgres::start("rights");
    let statements = |heading: &str| -> String {
        let page = include_str!("../../../docs/postgresql.md");
        let part = page.split(&format!("```sql\n-- {heading}")).nth(1).unwrap_or_else(|| panic!("{heading}"));
        part.split_once('\n').unwrap().1.split("```").next().unwrap().to_owned()
    };
    let administrator = server.as_administrator("postgres").await;
    for statement in statements("the administrator").split(';').filter(|statement| !statement.trim().is_empty()) {
        sqlx::query(sqlx::AssertSqlSafe(statement.to_owned())).execute(&administrator).await.unwrap();
    }
    let at = |role: &str| format!("postgres://{role}@127.0.0.1:{}/shop", server.port());
    // Before the owner has made the tables, nobody else can, and that is said.
    let error = Store::open(&at("tenunder_bench")).await.unwrap_err();
    assert!(matches!(&error, StoreError::CannotOpen { detail, .. } if detail.contains("owns its database")), "{error}");
    Store::open(&at("tenunder_owner")).await.unwrap().close().await;
    let owner = sqlx::PgPool::connect(&at("tenunder_owner")).await.unwrap();
    for statement in statements("the owner").split(';').filter(|statement| !statement.trim().is_empty()) {
        sqlx::query(sqlx::AssertSqlSafe(statement.to_owned())).execute(&owner).await.unwrap();
    }

    story(Store::open(&at("tenunder_bench")).await.unwrap()).await;
    let bench = sqlx::PgPool::connect(&at("tenunder_bench")).await.unwrap();
    for forbidden in [
        "UPDATE entry SET body = body",
        "DELETE FROM entry",
        "TRUNCATE entry",
        "DELETE FROM head",
        "UPDATE picture SET width = 1",
        "DELETE FROM picture",
        "UPDATE record SET format = 99",
        "UPDATE record SET sealed_with = ''",
        "DELETE FROM record",
        "INSERT INTO _sqlx_migrations (version) VALUES (9)",
        "DROP TABLE entry",
        "CREATE TABLE mine (one INT)",
    ] {
        let refused = sqlx::query(forbidden).execute(&bench).await.unwrap_err();
        assert_eq!(refused.as_database_error().unwrap().code().unwrap(), "42501", "{forbidden}: {refused}");
    }
    // Who may only look.
    let looks = Store::open_reading(&at("tenunder_looks"), None).await.unwrap();
    assert!(looks.jobs(&Wanted::default()).await.unwrap().all >= 6);
    assert_eq!(looks.verify().await.unwrap().faults, Vec::<String>::new());
    let looks = Store::open(&at("tenunder_looks")).await.unwrap();
    assert_eq!(looks.book_in(&[booked("C-9", "nobody")]).await.unwrap_err(), StoreError::ReadOnly);
    // Tables that somebody else altered are not worked in.
    sqlx::query("UPDATE _sqlx_migrations SET checksum = 'x' WHERE version = 1").execute(&owner).await.unwrap();
    let altered = Store::open(&at("tenunder_bench")).await.unwrap_err();
    assert!(matches!(altered, StoreError::Damaged { .. }), "{altered}");
}

/// From either database into a file, and from the file into either: the same logs, the same list.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn backups_go_from_either_database_into_either() {
    let folder = folder("backup");
    let server = Postgres::start("backup");
    let sqlite = Store::open(folder.join("shop.tenunder").to_str().unwrap()).await.unwrap();
    booking_in_is_repeat_safe(&sqlite).await;
    let file = folder.join("monday.backup");
    let saved = sqlite.backup(&file).await.unwrap();
    assert_eq!((saved.jobs, saved.entries, saved.faults.len()), (1, 3, 0));
    assert!(matches!(sqlite.backup(&file).await, Err(StoreError::FileExists { .. })));
    assert!(matches!(sqlite.restore(&file).await, Err(StoreError::NotEmpty)));

    let postgres = Store::open(&server.address()).await.unwrap();
    postgres.restore(&file).await.unwrap();
    assert_eq!(postgres.entries(1001, 0).await.unwrap(), sqlite.entries(1001, 0).await.unwrap());
    // Numbers go on where they stood.
    assert_eq!(postgres.book_in(&[booked("C-2", "next")]).await.unwrap().job, 1002);
    let second = folder.join("tuesday.backup");
    postgres.backup(&second).await.unwrap();
    let third = Store::open(folder.join("third.tenunder").to_str().unwrap()).await.unwrap();
    third.restore(&second).await.unwrap();
    assert_eq!(third.jobs(&Wanted::default()).await.unwrap(), postgres.jobs(&Wanted::default()).await.unwrap());
}
