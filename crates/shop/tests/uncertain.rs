//! A server that is silent at the last word: what was saved is found again, and what cannot be known is called uncertain.

mod support;

use std::time::Duration;

use shop::{Appended, Store, StoreError};
use support::{Postgres, booked, reading};

/// From here on every commit that writes an entry takes so long.
async fn commits_take(pool: &sqlx::PgPool, seconds: u32) {
    let mut queries = vec![
        "DROP TRIGGER IF EXISTS slow ON entry".to_owned(),
        format!(
            "CREATE OR REPLACE FUNCTION slow() RETURNS trigger AS $$ BEGIN PERFORM pg_sleep({seconds}); RETURN NULL; END \
             $$ LANGUAGE plpgsql"
        ),
    ];
    if seconds > 0 {
        queries.push(
            "CREATE CONSTRAINT TRIGGER slow AFTER INSERT ON entry DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE \
             FUNCTION slow()"
                .to_owned(),
        );
    }
    for query in queries {
        sqlx::query(sqlx::AssertSqlSafe(query)).execute(pool).await.unwrap();
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_a_silent_server_was_told_is_looked_up_again() {
    let server = Postgres::start("uncertain");
    let store = Store::open(&server.address()).await.unwrap();
    let job = store.book_in(&[booked("C-0412", "A. Miller")]).await.unwrap().job;
    let other = sqlx::PgPool::connect(&server.address()).await.unwrap();
    // Longer than anybody waits for the answer, and then it is there: it is saved, and said to be.
    commits_take(&other, 10).await;
    let first = reading("0", "1.2450");
    assert_eq!(store.append(job, 1, std::slice::from_ref(&first)).await, Ok(Appended::Written { seq: 2 }));
    // Longer than it can be looked up.
    commits_take(&other, 40).await;
    let second = reading("90", "1.2470");
    let told = store.append(job, 2, std::slice::from_ref(&second)).await.expect_err("nobody knows");
    assert!(matches!(told, StoreError::Uncertain { .. }), "{told:?}");
    let says = told.to_string();
    assert!(says.contains("not known whether this was saved") && says.contains("kept once"), "{says}");
    assert!(!says.contains("was not saved"), "{says}");
    // Sent again when the server answers: kept once.
    tokio::time::sleep(Duration::from_secs(20)).await;
    let again = store.append(job, 2, std::slice::from_ref(&second)).await;
    assert_eq!(again, Ok(Appended::Repeated { seq: 3 }));
    assert_eq!(store.entries(job, 0).await.unwrap().len(), 3);
    commits_take(&other, 0).await;
    other.close().await;
    // Down altogether before anything was told: then it is known.
    drop(server);
    let told = store.append(job, 3, &[reading("0", "1.2451")]).await.expect_err("the server is gone");
    assert!(matches!(told, StoreError::NoAnswer { .. } | StoreError::Locked), "{told:?}");
    store.close().await;
}
