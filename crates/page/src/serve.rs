//! The socket: loopback only, a bounded number of connections, and no waiting for slow ones.

use crate::desk::Desk;
use crate::routes::routes;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

/// Connections at a time; more wait for one to end.
const CONNECTIONS: usize = 64;
/// The head of a request must be there in this time.
const HEAD: Duration = Duration::from_secs(10);

/// A socket that listens.
pub struct Door {
    listener: std::net::TcpListener,
    /// Its address.
    pub address: SocketAddr,
}

impl Door {
    /// Listens on loopback, on a port or on one that is free (0).
    pub fn open(port: u16) -> Result<Door, String> {
        let told = |e: std::io::Error| format!("port {port} of this machine: {e}");
        let listener = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(told)?;
        listener.set_nonblocking(true).map_err(told)?;
        let address = listener.local_addr().map_err(told)?;
        Ok(Door { listener, address })
    }
}

/// Serves until the program ends.
pub fn serve(door: Door, desk: &Arc<Desk>) -> Result<(), String> {
    let worker = Arc::clone(desk);
    std::thread::Builder::new()
        .name("full answers".into())
        .spawn(move || worker.work())
        .map_err(|e| format!("no thread for the answers: {e}"))?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|e| format!("the page cannot be served: {e}"))?;
    runtime.block_on(accept(door, Arc::clone(desk)))
}

async fn accept(door: Door, desk: Arc<Desk>) -> Result<(), String> {
    let app = routes(desk, door.address.port());
    let listener =
        TcpListener::from_std(door.listener).map_err(|e| format!("the page cannot be served: {e}"))?;
    let places = Arc::new(Semaphore::new(CONNECTIONS));
    loop {
        let Ok(place) = Arc::clone(&places).acquire_owned().await else { return Ok(()) };
        let Ok((stream, from)) = listener.accept().await else {
            // too many open files, for one: others may close meanwhile
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        if !from.ip().is_loopback() {
            continue;
        }
        let service = TowerToHyperService::new(app.clone());
        tokio::spawn(async move {
            let mut http = http1::Builder::new();
            http.timer(TokioTimer::new()).header_read_timeout(HEAD);
            // a connection that ends amid a request is no fault of ours
            let _ = http.serve_connection(TokioIo::new(stream), service).await;
            drop(place);
        });
    }
}
