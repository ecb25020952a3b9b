//! The shop's own things: people, instruments, engines, prices, settings, batches.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use shop::{Appended, Draft, Shop, ShopInstrument, ShopKind, Value};
use utoipa::{IntoParams, ToSchema};

use super::answers::{Asking, Conflict, Refused, Told, Writing, behind};
use super::ask::{Asked, Body};
use super::jobs::{check_specification, from_problems};
use super::lines::{ShopDraft, ShopEntry};
use crate::desk::Desk;
use crate::naming::surely;
use crate::pages::book_in::known_books;

/// The shop as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ShopNow {
    /// The place of the last entry of its log.
    seq: i64,
    /// Its settings.
    #[schema(value_type = Object)]
    settings: Value,
    /// Who works here.
    people: Vec<String>,
    /// Its micrometers, with how they did on their standards.
    instruments: Vec<ShopInstrument>,
    /// Its specifications.
    specifications: Vec<NamedSpecification>,
    /// Engines that the program knows without being told.
    engines: Vec<String>,
    /// Its prices.
    prices: Vec<PricesFor>,
    /// Batches for treatment that are open.
    batches: Vec<OpenBatch>,
}

/// A specification by the name it is chosen by.
#[derive(Debug, Serialize, ToSchema)]
struct NamedSpecification {
    name: String,
    #[schema(value_type = Object)]
    specification: Value,
}

/// Prices, for one specification or for all that have none of their own.
#[derive(Debug, Serialize, ToSchema)]
struct PricesFor {
    specification: Option<String>,
    #[schema(value_type = Object)]
    prices: Value,
}

/// A batch that is open.
#[derive(Debug, Serialize, ToSchema)]
struct OpenBatch {
    batch: String,
    #[schema(value_type = Object)]
    particulars: Value,
}

impl ShopNow {
    fn of(shop: &Shop, desk: &Desk) -> ShopNow {
        let specification = |(name, specification): &(String, Value)| NamedSpecification {
            name: name.clone(),
            specification: specification.clone(),
        };
        let prices = |(specification, prices): &(Option<String>, Value)| PricesFor {
            specification: specification.clone(),
            prices: prices.clone(),
        };
        let batch = |(batch, particulars): &(String, Value)| OpenBatch {
            batch: batch.clone(),
            particulars: particulars.clone(),
        };
        ShopNow {
            seq: shop.seq,
            settings: shop.settings.clone(),
            people: shop.people.clone(),
            instruments: shop.instruments.clone(),
            specifications: shop.specifications.iter().map(specification).collect(),
            engines: desk.engines.iter().map(|engine| engine.name.clone()).collect(),
            prices: shop.prices.iter().map(prices).collect(),
            batches: shop.batches.iter().map(batch).collect(),
        }
    }
}

/// The shop as it stands.
#[utoipa::path(get, path = "/api/shop", tag = "shop", responses((status = 200, body = ShopNow), Asking))]
pub(crate) async fn shop(State(desk): State<Desk>) -> Result<Json<ShopNow>, Refused> {
    let shop = desk.shop().await?;
    Ok(Json(ShopNow::of(&shop, &desk)))
}

/// A crank that nobody knows.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct Unknown {
    /// Sizes as they were read, each after main or pin where that is known.
    #[param(example = "main 2.1143 pin 1.8640")]
    sizes: String,
    /// How many mains it has.
    mains: Option<usize>,
    /// How many crankpins it has.
    pins: Option<usize>,
}

/// What a crank may be that nobody knows: which engine, at which undersize, at which point of its life, how surely.
#[utoipa::path(
    get, path = "/api/which", tag = "shop", params(Unknown),
    responses(
        (status = 200, body = Object),
        (status = 422, body = Told, description = "A size or a count that cannot be: which, and what would do."),
        Asking
    )
)]
pub(crate) async fn which(
    State(desk): State<Desk>,
    Asked(asked): Asked<Unknown>,
) -> Result<Json<sheet::WhichAnswer>, Refused> {
    let read = sheet::read_which(&asked.sizes, [asked.mains, asked.pins]).map_err(|found| from_problems(&found))?;
    let shop = desk.shop().await?;
    Ok(Json(sheet::which_answer(&known_books(&desk, &shop), &read)))
}

/// The entries of the shop's own log, in order.
#[utoipa::path(
    get, path = "/api/shop/log", tag = "shop", responses((status = 200, body = Vec<ShopEntry>), Asking)
)]
pub(crate) async fn log(State(desk): State<Desk>) -> Result<Json<Vec<ShopEntry>>, Refused> {
    Ok(Json(desk.store.shop_entries().await?.into_iter().map(ShopEntry::from).collect()))
}

/// Entries to be written to the shop's own log, all of them or none.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct ToWriteInShop {
    /// The place of the last entry that the writer saw. Left out, they are written whatever others wrote: each line
    /// stands for itself.
    #[serde(default)]
    #[schema(minimum = 0)]
    seen: Option<i64>,
    /// Whether names that look like others, or mix alphabets, are right as they are; such names are refused without it.
    #[serde(default)]
    sure: bool,
    /// The entries.
    #[schema(min_items = 1, max_items = 1000)]
    entries: Vec<ShopDraft>,
}

/// What was written.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct WrittenInShop {
    /// The place of the last of them.
    seq: i64,
    /// Whether they were written before, under the same names; then they are kept once.
    repeated: bool,
}

/// Write entries to the shop's own log.
#[utoipa::path(
    post, path = "/api/shop/log", tag = "shop", request_body = ToWriteInShop,
    responses(
        (status = 200, body = WrittenInShop),
        (status = 409, body = Conflict<ShopEntry>, description = "Others wrote since, or a name is another entry's."),
        Writing
    )
)]
pub(crate) async fn write_log(
    State(desk): State<Desk>,
    Body(told): Body<ToWriteInShop>,
) -> Result<Json<WrittenInShop>, Refused> {
    crate::door::bounded(told.entries.len(), 0)?;
    let drafts: Vec<Draft<ShopKind>> = told.entries.into_iter().map(Draft::from).collect();
    for draft in &drafts {
        if let ShopKind::Specification { specification, .. } = &draft.kind {
            check_specification("specification", specification)?;
        }
    }
    if !told.sure {
        surely(desk.odd_people(&drafts).await?)?;
    }
    let mut seen = match told.seen {
        Some(seen) => seen,
        None => desk.shop().await?.seq,
    };
    loop {
        match desk.store.append_to_shop(seen, &drafts).await? {
            Appended::Written { seq } => return Ok(Json(WrittenInShop { seq, repeated: false })),
            Appended::Repeated { seq } => return Ok(Json(WrittenInShop { seq, repeated: true })),
            Appended::Behind { seq, .. } if told.seen.is_none() => seen = seq,
            Appended::Behind { since, seq } => return Err(behind::<ShopEntry, _>(since, seq)),
        }
    }
}
