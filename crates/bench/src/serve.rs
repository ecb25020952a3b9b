//! Listening on this computer's own address, and nowhere else.

use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::Request;
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use shop::Store;
use tokio::net::TcpListener;
use tower_http::catch_panic::CatchPanicLayer;

use crate::api;
use crate::arriving::{Room, arriving};
use crate::connections::Connections;
use crate::desk::{Desk, KnownEngine};
use crate::guard::{Hosts, guard};
use crate::pages;
use crate::trouble::Trouble;

/// The longest that anybody waits for an answer.
const LONGEST: Duration = Duration::from_secs(60);

/// Why the pages could not be served.
#[derive(Debug, thiserror::Error)]
#[error("the pages could not be served on port {port}: {why}")]
pub struct NotServed {
    port: u16,
    why: std::io::Error,
}

/// The pages over a record.
#[derive(Clone, Debug)]
pub struct Bench {
    desk: Desk,
}

/// The pages, listening.
#[derive(Debug)]
pub struct Listening {
    listeners: Vec<TcpListener>,
    app: Router,
    address: SocketAddr,
}

impl Bench {
    /// The pages over a record. `engines` can be chosen by name when a crank is booked in.
    pub fn new(store: Store, engines: Vec<KnownEngine>) -> Bench {
        Bench { desk: Desk::new(store, engines) }
    }

    /// With a sheet that can be opened as an example.
    pub fn with_example(mut self, sheet: &str) -> Bench {
        self.desk.example = Some(sheet.into());
        self
    }

    /// Takes a port on this computer's own addresses; 0 takes any free one.
    ///
    /// # Errors
    /// [`NotServed`], another program having the port above all.
    pub async fn listen(self, port: u16) -> Result<Listening, NotServed> {
        listening(self.routes(), port).await
    }

    /// The pages and the JSON interface.
    pub(crate) fn routes(self) -> Router {
        pages::routes().merge(api::routes()).with_state(self.desk)
    }
}

/// Takes a port for pages on this computer's own addresses.
pub(crate) async fn listening(routes: Router, port: u16) -> Result<Listening, NotServed> {
    let not = |why| NotServed { port, why };
    let first = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await.map_err(not)?;
    let address = first.local_addr().map_err(not)?;
    let mut listeners = vec![first];
    // Some computers have no IPv6; then the other address does.
    if let Ok(second) = TcpListener::bind((Ipv6Addr::LOCALHOST, address.port())).await {
        listeners.push(second);
    }
    let port = address.port();
    let hosts = ["127.0.0.1", "localhost", "[::1]"].map(|host| format!("{host}:{port}"));
    Ok(Listening { listeners, app: guarded(routes, Hosts(Arc::from(hosts))), address })
}

/// Pages as a service, for the hosts given.
fn guarded(routes: Router, hosts: Hosts) -> Router {
    routes
        .layer(from_fn(in_time))
        .layer(CatchPanicLayer::custom(|_: Box<dyn std::any::Any + Send>| {
            Trouble::fault("a page broke off").into_response()
        }))
        .layer(from_fn_with_state(Room::default(), arriving))
        .layer(from_fn_with_state(hosts, guard))
}

/// Gives an answer in time, or says that there is none.
async fn in_time(request: Request, next: Next) -> Response {
    let changes = !request.method().is_safe();
    match tokio::time::timeout(LONGEST, next.run(request)).await {
        Ok(response) => response,
        Err(_) => Trouble::too_long(changes, LONGEST).into_response(),
    }
}

impl Listening {
    /// Where the pages are.
    pub fn address(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Serves until `stop` is done, then finishes what is being answered, for three seconds at the longest.
    ///
    /// # Errors
    /// What the operating system says.
    pub async fn serve(self, stop: impl Future<Output = ()> + Send + 'static) -> std::io::Result<()> {
        let (tell, told) = tokio::sync::watch::channel(false);
        tokio::spawn(async move {
            stop.await;
            // Nobody listening any more is fine: then all is served.
            let _ = tell.send(true);
        });
        let connections = Connections::default();
        let mut served = tokio::task::JoinSet::new();
        for listener in self.listeners {
            served.spawn(connections.clone().serve(listener, self.app.clone(), told.clone()));
        }
        while let Some(done) = served.join_next().await {
            done.map_err(std::io::Error::other)?;
        }
        Ok(())
    }
}
