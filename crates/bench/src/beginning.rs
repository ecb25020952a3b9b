//! The pages where there is no record yet: one question, whether to begin one. Nothing is made before it is answered, so that
//! a program started in the wrong folder says so instead of showing an empty shop.

use std::fmt;
use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;

use askama::Template;
use axum::Router;
use axum::extract::{FromRequest, Request, State};
use axum::http::{Method, StatusCode};
use axum::response::{IntoResponse, Response};
use hyper::service::Service;
use hyper_util::service::TowerToHyperService;
use shop::StoreError;
use tokio::sync::OnceCell;

use crate::guard::{Token, type_size};
use crate::pages;
use crate::serve::{Bench, Listening, NotServed, listening};
use crate::trouble::Trouble;
use crate::visitor::{Fields, go, show};

/// Makes the record, and the pages over it.
type Make = dyn Fn() -> Pin<Box<dyn Future<Output = Result<Bench, StoreError>> + Send>> + Send + Sync;

/// The pages before there is a record.
#[derive(Clone)]
pub struct Beginning {
    place: Arc<str>,
    make: Arc<Make>,
    /// The pages over the record, once it is made.
    begun: Arc<OnceCell<Router>>,
}

impl fmt::Debug for Beginning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Beginning").field("place", &self.place).field("begun", &self.begun.initialized()).finish()
    }
}

#[derive(Template)]
#[template(path = "begin.html")]
struct BeginPage<'a> {
    place: &'a str,
    token: &'a str,
    size: &'a str,
}

impl Beginning {
    /// A record that is to be at `place`; `make` makes it, and is called when somebody said so.
    pub fn new(
        place: &str,
        make: impl Fn() -> Pin<Box<dyn Future<Output = Result<Bench, StoreError>> + Send>> + Send + Sync + 'static,
    ) -> Beginning {
        Beginning { place: place.into(), make: Arc::new(make), begun: Arc::default() }
    }

    /// Takes a port on this computer's own addresses; 0 takes any free one.
    ///
    /// # Errors
    /// [`NotServed`], another program having the port above all.
    pub async fn listen(self, port: u16) -> Result<Listening, NotServed> {
        // No part of the address may be taken out of it here: the pages over the record read it themselves.
        let routes = Router::new().merge(pages::statics()).fallback(answer).with_state(self);
        listening(routes, port).await
    }

    async fn ask(&self, request: Request) -> Result<Response, Trouble> {
        let path_is_json = request.uri().path().starts_with("/api/");
        match (request.method(), request.uri().path()) {
            (&Method::POST, "/begin") => {
                // The form is ours, or nothing is made.
                let _: Fields = Fields::from_request(request, &()).await?;
                self.begun.get_or_try_init(async || (self.make)().await.map(Bench::routes)).await?;
                Ok(go("/"))
            }
            (&Method::GET | &Method::HEAD, "/") => {
                let size = type_size(request.headers());
                let token = request.extensions().get::<Token>().ok_or_else(|| Trouble::fault("no token"))?;
                show(&BeginPage { place: &self.place, token: &token.0, size })
            }
            (&Method::GET | &Method::HEAD, _) if !path_is_json => Ok(go("/")),
            _ => {
                let says = "There is no record yet.";
                let advice = "Begin one on the first page, or stop the program and start it where the record is.";
                Err(Trouble::new(StatusCode::SERVICE_UNAVAILABLE, says, advice))
            }
        }
    }
}

async fn answer(State(beginning): State<Beginning>, request: Request) -> Response {
    let asked = request.method() == Method::POST && request.uri().path() == "/begin";
    if let Some(pages) = beginning.begun.get().filter(|_| !asked) {
        // It never fails: what goes wrong is an answer too.
        return TowerToHyperService::new(pages.clone()).call(request).await.unwrap_or_else(|never| match never {});
    }
    let path_is_json = request.uri().path().starts_with("/api/");
    match beginning.ask(request).await {
        Ok(response) => response,
        Err(trouble) if path_is_json => trouble.as_json(),
        Err(trouble) => trouble.into_response(),
    }
}
