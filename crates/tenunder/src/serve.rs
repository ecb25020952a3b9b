//! The pages, opened on a shop's record or on an invented shop.

use std::io::Write;
use std::path::PathBuf;
use std::time::Duration;

use bench::{Bench, KnownEngine};
use shop::{Store, StoreError};

use crate::{AT_FAULT, FAILED, complain, files, oxbow, record, say};

/// The port where nobody says another.
pub(crate) const USUAL_PORT: u16 = 7160;

/// What the record is waited for when the program ends.
const CLOSING: Duration = Duration::from_millis(1_500);

/// Serves the record in a file or on a server.
pub(crate) fn shop(place: Option<String>, port: u16) -> u8 {
    let place = place.unwrap_or_else(|| record::USUAL.to_owned());
    on_runtime(async move {
        match Store::open(&place).await {
            Ok(store) => serve(store, port).await,
            Err(error) => refuse(&error),
        }
    })
}

/// Serves an invented shop: in a new file that stays, or in one that is gone when the program ends.
pub(crate) fn invented_shop(keep: Option<PathBuf>, port: u16) -> u8 {
    let folder = match tempfile::Builder::new().prefix("tenunder-").tempdir() {
        Ok(folder) => folder,
        Err(error) => return fail(&error),
    };
    let place = match keep {
        Some(file) if file.exists() => return refuse(&StoreError::FileExists { file: file.display().to_string() }),
        Some(file) => file,
        None => folder.path().join("oxbow.tenunder"),
    };
    on_runtime(async move {
        match filled(&place.display().to_string()).await {
            Ok(store) => {
                // The folder lives as long as the pages are served.
                let served = serve(store, port).await;
                drop(folder);
                served
            }
            Err(error) => refuse(&error),
        }
    })
}

/// A new record with the invented shop in it.
async fn filled(place: &str) -> Result<Store, StoreError> {
    let store = Store::open(place).await?;
    oxbow::fill(&store, jiff::Timestamp::now()).await?;
    Ok(store)
}

fn on_runtime(work: impl Future<Output = u8>) -> u8 {
    match tokio::runtime::Builder::new_multi_thread().enable_all().build() {
        Ok(runtime) => {
            let ended = runtime.block_on(work);
            // A verdict that is still being worked out is nobody's any more: the program does not wait for it.
            runtime.shutdown_background();
            ended
        }
        Err(error) => fail(&error),
    }
}

async fn serve(store: Store, port: u16) -> u8 {
    let engines = files::specifications()
        .map(|(name, text)| KnownEngine { name: name.to_owned(), text: text.to_owned() })
        .collect();
    let mut bench = Bench::new(store.clone(), engines);
    if let Some(example) = files::shipped("tarn-four-worn.toml") {
        bench = bench.with_example(example);
    }
    let listening = match bench.listen(port).await {
        Ok(listening) => listening,
        Err(error) => {
            complain(&format!("tenunder: {error}\nStop whatever else uses it, or name another with --port.\n"));
            return AT_FAULT;
        }
    };
    say(&format!("Open {} in this computer's browser. Ctrl+C stops it.\n", listening.address()));
    let stop = async {
        // Where the signal cannot be waited for, the program is stopped by whoever started it.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    let served = listening.serve(stop).await;
    // A database that does not answer does not keep the program: what was acknowledged is safe without this.
    let _ = tokio::time::timeout(CLOSING, store.close()).await;
    match served {
        Ok(()) => crate::ANSWERED,
        Err(error) => fail(&error),
    }
}

fn refuse(error: &StoreError) -> u8 {
    complain(&format!("tenunder: {error}\n"));
    if matches!(error, StoreError::Fault { .. }) { FAILED } else { AT_FAULT }
}

fn fail(error: &std::io::Error) -> u8 {
    // Where even this cannot be written there is nobody left to tell.
    let _ = writeln!(std::io::stderr().lock(), "tenunder: {error}");
    FAILED
}
