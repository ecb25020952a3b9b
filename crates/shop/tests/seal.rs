//! What is shown is what was written: bits flipped in the file, rows changed by somebody who knows how, keys lost and renewed.

mod support;

use std::path::{Path, PathBuf};

use say::Words;
use shop::{
    EntryKind, JobList, Opening, ShopKind, Store, StoreError, Value, Wanted, exported, fold, fold_shop, history,
};
use support::{booked, draft, folder, reading};

/// How many bits are flipped, unless `TENUNDER_TEST_FLIPS` says otherwise.
const FLIPS: usize = 200;
const JOBS: std::ops::Range<i64> = 1001..1007;

/// Steele, Lea and Flood's SplitMix64.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) as usize % most
    }
}

fn key_of(file: &Path) -> PathBuf {
    PathBuf::from(format!("{}.key", file.display()))
}

async fn open(file: &Path) -> Result<Store, StoreError> {
    Store::open_with(file.to_str().unwrap(), &Opening::default()).await
}

/// A record with jobs, one of them signed, a shop and a photograph; closed. The code of the signed paper.
async fn filled(file: &Path) -> String {
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    for n in 0..6 {
        let mut batch = vec![booked(&format!("C-{n:04}"), "A. Miller")];
        batch.extend((0..25).map(|k| reading(if k % 2 == 0 { "0" } else { "90" }, &format!("1.24{k:02}"))));
        store.book_in(&batch).await.unwrap();
    }
    let settings = Value::table([("name", Value::from("Oxbow Engine Works")), ("words", Value::from("pin"))]);
    let own = [
        shop::Draft::new(support::id(), "Pat", "2026-11-25T09:00:00Z", ShopKind::Person { name: "Sam".into() }),
        shop::Draft::new(support::id(), "Pat", "2026-11-25T09:00:00Z", ShopKind::Settings { settings }),
    ];
    store.append_to_shop(0, &own).await.unwrap();
    let mut png = Vec::new();
    let picture = image::RgbImage::from_fn(64, 48, |x, y| image::Rgb([x as u8 * 3, y as u8 * 5, 90]));
    image::DynamicImage::from(picture).write_to(&mut std::io::Cursor::new(&mut png), image::ImageFormat::Png).unwrap();
    let kept = store.keep_picture(png).await.unwrap();
    let shown = EntryKind::Photograph { picture: kept.hash, caption: "scores".into(), journal: None };
    store.append(1003, 26, &[draft(shown)]).await.unwrap();
    let row = Value::from_text("journal = \"pin 1\"\nat = \"middle\"\nplane = 0\nsize = 1.2390\n").unwrap();
    store.append(1004, 26, &[draft(EntryKind::FinalReading(shop::Row::typed(row)))]).await.unwrap();
    let job = store.job(1004).await.unwrap();
    let signed = EntryKind::SignedOff { document_hash: job.frozen_hash(), says: "I measured this spot.".into() };
    let signed = draft(signed);
    store.append(1004, job.seq, std::slice::from_ref(&signed)).await.unwrap();
    let code = store.paper_code(1004, signed.id).await.unwrap().unwrap();
    assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
    store.close().await;
    code
}

/// All that anybody is shown of a record, one thing after another.
async fn shown(store: &Store) -> Vec<Result<String, StoreError>> {
    let mut all = Vec::new();
    for job in JOBS {
        all.push(store.head(job).await.map(|head| format!("{head:?}")));
        all.push(store.entries(job, 0).await.map(|entries| {
            let lines = history(&entries, Words::of_setting(None));
            format!("{lines:?} {} {:?}", exported(&fold(&entries)), fold(&entries).signed_off)
        }));
        all.push(store.entries(job, 20).await.map(|entries| format!("{entries:?}")));
    }
    all.push(store.shop_entries().await.map(|entries| format!("{:?}", fold_shop(&entries))));
    all.push(store.shop_seq().await.map(|seq| seq.to_string()));
    let picture = match store.entries(1003, 26).await.as_deref() {
        Ok([entry]) => match &entry.kind {
            EntryKind::Photograph { picture, .. } => store.picture(picture).await.map(|jpeg| format!("{jpeg:?}")),
            _ => Ok(String::new()),
        },
        _ => Err(StoreError::NoSuchPicture),
    };
    all.push(picture);
    all
}

async fn lists(store: &Store) -> Vec<Result<JobList, StoreError>> {
    let mut all = Vec::new();
    for wanted in [
        Wanted::default(),
        Wanted { put_away: true, ..Wanted::default() },
        Wanted { search: "miller".into(), ..Wanted::default() },
        Wanted { search: "446118".into(), ..Wanted::default() },
    ] {
        all.push(store.jobs(&wanted).await);
    }
    all
}

fn is_told(error: &StoreError) -> bool {
    let says = error.to_string();
    !matches!(error, StoreError::Fault { .. } | StoreError::NoSuchJob(_) | StoreError::Locked) && !says.is_empty()
}

#[tokio::test]
async fn a_flipped_bit_is_found_or_changes_nothing_that_is_shown() {
    let folder = folder("flips");
    let file = folder.join("shop.tenunder");
    filled(&file).await;
    let store = open(&file).await.unwrap();
    let (sound, sound_lists) = (shown(&store).await, lists(&store).await);
    assert!(sound.iter().all(Result::is_ok), "{sound:?}");
    store.close().await;
    let bytes = std::fs::read(&file).unwrap();
    let flips = std::env::var("TENUNDER_TEST_FLIPS").ok().and_then(|told| told.parse().ok()).unwrap_or(FLIPS);
    let mut dice = Dice(0x7e9d);
    let (mut refused, mut met, mut harmless) = (0, 0, 0);
    let spoilt = folder.join("spoilt.tenunder");
    for _ in 0..flips {
        let mut changed = bytes.clone();
        let (at, bit) = (dice.below(bytes.len()), dice.below(8));
        changed[at] ^= 1 << bit;
        for end in ["", "-wal", "-shm", ".key"] {
            let _ = std::fs::remove_file(format!("{}{end}", spoilt.display()));
        }
        std::fs::write(&spoilt, &changed).unwrap();
        std::fs::copy(key_of(&file), key_of(&spoilt)).unwrap();
        let place = format!("byte {at}, bit {bit}");
        let store = match open(&spoilt).await {
            Ok(store) => store,
            Err(error) => {
                assert!(is_told(&error), "{place}: {error:?}");
                refused += 1;
                continue;
            }
        };
        let mut found = false;
        for (now, then) in shown(&store).await.iter().zip(&sound) {
            match now {
                Ok(_) => assert_eq!(now, then, "{place} changes what is shown"),
                Err(error) => {
                    assert!(is_told(error), "{place}: {error:?}");
                    found = true;
                }
            }
        }
        for (now, then) in lists(&store).await.into_iter().zip(&sound_lists) {
            match (now, then) {
                (Err(error), _) => {
                    assert!(is_told(&error), "{place}: {error:?}");
                    found = true;
                }
                (Ok(now), Ok(then)) if now != *then => {
                    assert!(!now.damaged.is_empty(), "{place} changes the list: {now:?}");
                    assert!(now.jobs.iter().all(|head| then.jobs.contains(head)), "{place}: {now:?}");
                    found = true;
                }
                _ => {}
            }
        }
        // What was met is also found by looking through, and the other way round nothing is said of what is whole.
        let faults = store.verify().await.map_or(1, |checked| checked.faults.len());
        assert!(!found || faults > 0 || store.key().is_none_or(|(_, here)| !here), "{place} is met and not found");
        met += usize::from(found);
        harmless += usize::from(!found);
        store.close().await;
    }
    assert!(refused + met > flips / 3, "{refused} refused, {met} met, {harmless} harmless of {flips}");
}

async fn change(file: &Path, queries: &[String]) {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
    let pool = sqlx::sqlite::SqlitePoolOptions::new().max_connections(1).connect_with(options).await.unwrap();
    for query in queries {
        sqlx::query(sqlx::AssertSqlSafe(query.clone())).execute(&pool).await.unwrap();
    }
    pool.close().await;
}

/// A log as somebody without the key can write it: every hash right again after a figure was changed.
async fn rewritten(file: &Path, job: i64, from: &str, to: &str, seals: bool) {
    use sha2::{Digest, Sha256};
    type Line = (i64, i64, String, String, String, String, i64, Option<String>, String, String, String);
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
    let pool = sqlx::sqlite::SqlitePoolOptions::new().max_connections(1).connect_with(options).await.unwrap();
    let query = "SELECT job, seq, id, who, done, received, sheet_version, corrects, kind, body, hash FROM entry WHERE \
                 job = $1 ORDER BY seq";
    let lines: Vec<Line> = sqlx::query_as(query).bind(job).fetch_all(&pool).await.unwrap();
    let mut before = String::new();
    for mut line in lines {
        line.9 = line.9.replace(from, to);
        let fields = (&before, line.0, line.1, &line.2, &line.3, &line.4, &line.5, line.6, &line.7, &line.8, &line.9);
        let digest = Sha256::digest(serde_json::to_string(&fields).unwrap());
        let hash: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        let seal = line.10.split_once('.').map_or("", |(_, seal)| seal);
        before = if seals { format!("{hash}.{seal}") } else { hash };
        let put = "UPDATE entry SET body = $3, hash = $4 WHERE job = $1 AND seq = $2";
        sqlx::query(put).bind(job).bind(line.1).bind(&line.9).bind(&before).execute(&pool).await.unwrap();
    }
    sqlx::query("UPDATE head SET hash = $2 WHERE job = $1").bind(job).bind(&before).execute(&pool).await.unwrap();
    pool.close().await;
}

#[tokio::test]
async fn who_has_no_key_cannot_change_a_figure_and_the_hashes_with_it() {
    let folder = folder("forged");
    let file = folder.join("shop.tenunder");
    let code = filled(&file).await;
    let bytes = std::fs::read(&file).unwrap();
    for seals in [true, false] {
        std::fs::write(&file, &bytes).unwrap();
        rewritten(&file, 1004, "1.2402", "1.2502", seals).await;
        let store = open(&file).await.unwrap();
        let found = store.entries(1004, 0).await.expect_err("a damaged job is not shown");
        let StoreError::DamagedJob { job: 1004, sound, .. } = &found else { panic!("{found:?}") };
        // Entry 4 holds the figure. Without any seal nothing vouches for the hashes before it either.
        assert_eq!(*sound, if seals { 3 } else { 0 }, "{found}");
        assert!(found.to_string().contains("Job 1004 is damaged"), "{found}");
        // Nothing is written to it, and the others go on.
        let more = reading("0", "1.2450");
        assert!(matches!(
            store.append(1004, 28, std::slice::from_ref(&more)).await,
            Err(StoreError::DamagedJob { .. })
        ));
        store.append(1005, 26, &[more]).await.unwrap();
        let paper = store.signed_paper(&code).await.unwrap();
        assert!(paper.is_none_or(|paper| paper.stands.is_err()), "the code stands for what was signed");
        assert!(!store.verify().await.unwrap().faults.is_empty());
        store.close().await;
    }
    // Taking away every seal, and the word that there is one, is no way round.
    std::fs::write(&file, &bytes).unwrap();
    rewritten(&file, 1004, "1.2402", "1.2502", false).await;
    change(&file, &["UPDATE record SET sealed_with = ''".into(), "UPDATE head SET seal = ''".into()]).await;
    let found = open(&file).await.expect_err("a record that lost its seal is not opened");
    assert!(matches!(found, StoreError::SealGone { .. }), "{found:?}");
    let reading = Store::open_to_read(&file).await;
    assert!(matches!(reading, Err(StoreError::SealGone { .. })), "{reading:?}");
}

#[tokio::test]
async fn a_signed_paper_is_found_by_its_code() {
    let file = folder("code").join("shop.tenunder");
    let code = filled(&file).await;
    let store = open(&file).await.unwrap();
    for typed in [code.clone(), code.to_lowercase(), code.replace('-', ""), code.replace('-', " ")] {
        let paper = store.signed_paper(&typed).await.unwrap().expect("the paper of this record");
        assert_eq!((paper.job, paper.seq, paper.who.as_str(), paper.in_force), (1004, 28, "Pat", true));
        assert_eq!(paper.stands, Ok(()));
    }
    assert_eq!(store.signed_paper("2222-2222-2222").await.unwrap(), None);
    assert_eq!(store.signed_paper("").await.unwrap(), None);
    let again = draft(EntryKind::Reopened { reason: "a crack test was asked for".into() });
    store.append(1004, 28, &[again]).await.unwrap();
    let paper = store.signed_paper(&code).await.unwrap().unwrap();
    assert!(paper.stands.is_ok() && !paper.in_force, "{paper:?}");
    store.close().await;
    // Damage after the signature does not touch what was signed; before it, it does.
    change(&file, &["UPDATE entry SET who = 'nobody' WHERE job = 1004 AND seq = 29".into()]).await;
    let store = open(&file).await.unwrap();
    assert!(store.signed_paper(&code).await.unwrap().unwrap().stands.is_ok());
    store.close().await;
    change(&file, &["UPDATE entry SET who = 'nobody' WHERE job = 1004 AND seq = 3".into()]).await;
    let store = open(&file).await.unwrap();
    assert!(store.signed_paper(&code).await.unwrap().unwrap().stands.is_err());
    store.close().await;
}

#[tokio::test]
async fn a_key_lost_is_said_and_another_can_be_made() {
    let folder = folder("keys");
    let file = folder.join("shop.tenunder");
    filled(&file).await;
    let kept = folder.join("kept.key");
    std::fs::rename(key_of(&file), &kept).unwrap();
    let store = open(&file).await.unwrap();
    let named = store.key().expect("it is sealed").0.to_owned();
    assert_eq!(store.key(), Some((named.as_str(), false)));
    store.entries(1001, 0).await.expect("it can be read");
    let refused = store.append(1001, 26, &[reading("0", "1.2450")]).await;
    assert_eq!(refused, Err(StoreError::KeyMissing { key: named.clone() }));
    assert!(!key_of(&file).exists(), "no key is made behind anybody's back");
    let checked = store.verify().await.unwrap();
    assert!(checked.faults.is_empty() && checked.notes[0].contains("not at hand"), "{checked:?}");
    store.close().await;
    // With the key kept elsewhere.
    let elsewhere = Opening { make: false, key: Some(kept.clone()) };
    let store = Store::open_with(file.to_str().unwrap(), &elsewhere).await.unwrap();
    store.append(1001, 26, &[reading("0", "1.2450")]).await.unwrap();
    store.close().await;
    // It is lost for good: a new one seals the record as it stands.
    let mut store = open(&file).await.unwrap();
    store.renew_key(None).await.unwrap();
    store.append(1001, 27, &[reading("90", "1.2450")]).await.unwrap();
    assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
    let now = store.key().unwrap().0.to_owned();
    assert_ne!(now, named);
    store.close().await;
    let store = open(&file).await.unwrap();
    assert_eq!(store.key(), Some((now.as_str(), true)));
    store.close().await;
    let found = Store::open_with(file.to_str().unwrap(), &elsewhere).await.unwrap();
    assert_eq!(found.key(), Some((now.as_str(), false)), "the old key is not the one in use");
    found.close().await;
}

/// What a program before the seal wrote: the tables of the first format, and hashes alone.
#[tokio::test]
async fn an_old_record_is_read_as_it_is_and_sealed_when_it_is_worked_in() {
    let folder = folder("old");
    let file = folder.join("shop.tenunder");
    filled(&file).await;
    for job in JOBS.chain([0]) {
        rewritten(&file, job, "nothing", "nothing", false).await;
    }
    let back = [
        "ALTER TABLE head DROP COLUMN seal",
        "ALTER TABLE record DROP COLUMN sealed_with",
        "UPDATE record SET format = 1",
        "DELETE FROM _sqlx_migrations WHERE version = 2",
        "PRAGMA user_version = 0",
        "PRAGMA journal_mode = DELETE",
    ];
    change(&file, &back.map(str::to_owned)).await;
    std::fs::remove_file(key_of(&file)).unwrap();
    let before = std::fs::read(&file).unwrap();
    let store = Store::open_to_read(&file).await.unwrap();
    let as_it_was = store.entries(1001, 0).await.unwrap();
    assert_eq!(store.jobs(&Wanted::default()).await.unwrap().all, 6);
    assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
    store.close().await;
    assert_eq!(std::fs::read(&file).unwrap(), before, "reading changes nothing");
    let store = open(&file).await.unwrap();
    assert_eq!(store.entries(1001, 0).await.unwrap(), as_it_was);
    store.append(1001, 26, &[reading("0", "1.2450")]).await.unwrap();
    let checked = store.verify().await.unwrap();
    assert_eq!(checked.faults, Vec::<String>::new());
    assert!(checked.notes.iter().any(|note| note.contains("no seal of their own")), "{:?}", checked.notes);
    store.close().await;
    // What was there before the key is sealed too, as it stood then.
    rewritten(&file, 1002, "1.2402", "1.2502", false).await;
    let store = open(&file).await.unwrap();
    assert!(matches!(store.entries(1002, 0).await, Err(StoreError::DamagedJob { .. })));
    store.close().await;
}
