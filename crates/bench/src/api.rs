//! The same operations as the pages, as a JSON interface under `/api/`, described by `/api/openapi.json`.
//!
//! What is written are the log's own lines. Each has a name that the writer makes, so that sending it twice writes it
//! once; whoever writes says which line they saw last, and is told what others wrote since. Every error is told the way
//! the pages tell it: what happened, whether the work is safe, what to do.

mod answers;
mod ask;
mod bench_work;
mod jobs;
mod lines;
mod papers;
mod pictures;
mod shop_things;

use std::time::Duration;

use axum::extract::Request;
use axum::http::{Method, StatusCode, Uri};
use axum::middleware::{Next, from_fn};
use axum::response::Response;
use axum::routing::{any, get};
use axum::{Json, Router};
use tower_http::catch_panic::CatchPanicLayer;
use utoipa::OpenApi;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::desk::Desk;
use crate::trouble::Trouble;

use answers::Told;

/// The longest that an answer is waited for; a little shorter than a page's, so that it is told as JSON.
const LONGEST: Duration = Duration::from_secs(50);

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Tenunder",
        description = "The record of a shop that reconditions crankshafts: the operations of the pages at the bench. \
                       Answered on this computer only. Numbers keep the digits that were typed."
    ),
    components(schemas(Told))
)]
struct Description;

/// All of `/api/`.
pub(crate) fn routes() -> Router<Desk> {
    let (router, description) = router().split_for_parts();
    router
        .route("/api/openapi.json", get(move || std::future::ready(Json(description.clone()))))
        .route("/api", any(lost))
        .route("/api/", any(lost))
        .route("/api/{*rest}", any(lost))
        .method_not_allowed_fallback(other_method)
        .layer(from_fn(in_time))
        .layer(CatchPanicLayer::custom(|_: Box<dyn std::any::Any + Send>| {
            Trouble::fault("an answer broke off").as_json()
        }))
}

/// What is described, and the description.
fn router() -> OpenApiRouter<Desk> {
    OpenApiRouter::with_openapi(Description::openapi())
        .routes(routes!(jobs::list, jobs::book_in))
        .routes(routes!(jobs::job))
        .routes(routes!(jobs::sheet))
        .routes(routes!(jobs::verdict))
        .routes(routes!(jobs::fit_of))
        .routes(routes!(jobs::oil_of))
        .routes(routes!(jobs::plan))
        .routes(routes!(jobs::history_of))
        .routes(routes!(bench_work::entries, bench_work::write))
        .routes(routes!(bench_work::take))
        .routes(routes!(bench_work::undo))
        .routes(routes!(bench_work::redo))
        .routes(routes!(jobs::batch))
        .routes(routes!(papers::list))
        .routes(routes!(papers::print))
        .routes(routes!(shop_things::shop))
        .routes(routes!(shop_things::which))
        .routes(routes!(shop_things::log, shop_things::write_log))
        .routes(routes!(pictures::keep))
        .routes(routes!(pictures::picture))
}

/// Gives an answer in time, or says that there is none.
async fn in_time(request: Request, next: Next) -> Response {
    let changes = !request.method().is_safe();
    match tokio::time::timeout(LONGEST, next.run(request)).await {
        Ok(response) => response,
        Err(_) => Trouble::too_long(changes, LONGEST).as_json(),
    }
}

async fn lost(uri: Uri) -> answers::Refused {
    let path: String = uri.path().chars().take(80).collect();
    Trouble::not_found(format!("There is nothing at {path}."), "What there is stands in /api/openapi.json.").into()
}

async fn other_method(method: Method) -> answers::Refused {
    let says = format!("{} is not done here.", method.as_str().chars().take(20).collect::<String>());
    Trouble::new(StatusCode::METHOD_NOT_ALLOWED, says, "What can be done stands in /api/openapi.json.").into()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whoever reads the description can tell every operation from every other, and finds every part it speaks of.
    #[test]
    fn the_description_is_whole() {
        let (_, description) = router().split_for_parts();
        let told = serde_json::to_value(&description).unwrap();
        let mut names = Vec::new();
        for (path, methods) in told["paths"].as_object().unwrap() {
            for (method, operation) in methods.as_object().unwrap() {
                assert!(operation["summary"].is_string(), "{method} {path} says nothing of itself");
                assert!(operation["responses"].as_object().unwrap().len() > 5, "{method} {path} tells no errors");
                names.push(operation["operationId"].as_str().unwrap().to_owned());
            }
        }
        let count = names.len();
        names.sort();
        names.dedup();
        assert_eq!((count, names.len()), (23, 23), "{names:?}");
        let text = told.to_string();
        for part in text.split("\"#/components/schemas/").skip(1) {
            let name = part.split('"').next().unwrap();
            assert!(told["components"]["schemas"][name].is_object(), "{name} is spoken of and not described");
        }
    }
}
