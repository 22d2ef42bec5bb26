//! Connections: the addresses for them, limits of number and time, and shutdown.

use axum::Router;
use axum::body::Body;
use axum::http::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::collections::HashMap;
use std::convert::Infallible;
use std::future::Future;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{sleep, timeout};

/// The most connections at one time, in total and from one machine. A browser opens six.
const MOST: usize = 1024;
const MOST_OF_ONE: usize = 512;
/// Time limit for the head of a request, and for an idle connection.
const PATIENCE: Duration = Duration::from_secs(15);
/// Time limit for a connection, so that nobody holds one by reading an answer slowly.
const LONGEST: Duration = Duration::from_secs(15 * 60);
/// How long open requests may take at shutdown.
const ENDING: Duration = Duration::from_secs(5);
/// The largest head of a request, in bytes and in lines.
const HEAD_BYTES: usize = 16 * 1024;
const HEAD_LINES: usize = 64;

/// The address at which other machines on the network reach this one, if it has one. Nothing is
/// sent: connecting a UDP socket only chooses the local address of the route.
pub(crate) fn on_network() -> Option<IpAddr> {
    // An address reserved for documentation, which belongs to nobody: RFC 5737.
    const NOBODY: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::new(192, 0, 2, 1)), 9);
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect(NOBODY).ok()?;
    let address = socket.local_addr().ok()?.ip();
    (!address.is_unspecified() && !address.is_loopback()).then_some(address)
}

pub(crate) fn address(place: SocketAddr, key: &str) -> String {
    format!("http://{place}/?key={key}")
}

/// The local address of a connection.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Local(pub SocketAddr);

/// Serves until `ended` completes, then lets open requests finish.
pub(crate) async fn serve(listener: TcpListener, app: Router, ended: impl Future<Output = ()>) {
    let (open, graceful) = (Open::default(), GracefulShutdown::new());
    let mut ended = std::pin::pin!(ended);
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            () = &mut ended => break,
        };
        match accepted {
            Ok((stream, peer)) => {
                let Some(place) = open.place(peer.ip().to_canonical()) else { continue };
                let Ok(local) = stream.local_addr() else { continue };
                let served = one(stream, app.clone(), Local(local), &graceful);
                tokio::spawn(async move {
                    let _place = place;
                    let _ = timeout(LONGEST, served).await;
                });
            }
            // Out of file descriptors: wait for other connections to end.
            Err(_) => sleep(Duration::from_millis(50)).await,
        }
    }
    drop(listener);
    let _ = timeout(ENDING, graceful.shutdown()).await;
}

/// Serves one connection to its end; the peer may break it off.
fn one(
    stream: TcpStream,
    app: Router,
    local: Local,
    graceful: &GracefulShutdown,
) -> impl Future<Output = Result<(), hyper::Error>> + use<> {
    let app = TowerToHyperService::new(app);
    let service = service_fn(move |mut request: Request<Incoming>| {
        request.extensions_mut().insert(local);
        let answer = hyper::service::Service::call(&app, request.map(Body::new));
        async move { Ok::<_, Infallible>(answer.await.unwrap_or_else(|never| match never {})) }
    });
    let mut server = http1::Builder::new();
    server.timer(TokioTimer::new()).header_read_timeout(PATIENCE);
    server.max_buf_size(HEAD_BYTES).max_headers(HEAD_LINES);
    graceful.watch(server.serve_connection(TokioIo::new(stream), service))
}

/// The number of open connections by machine.
#[derive(Clone, Default)]
struct Open(Arc<Mutex<HashMap<IpAddr, usize>>>);

/// A connection that is counted until it is dropped.
struct Place {
    open: Open,
    of: IpAddr,
}

impl Open {
    /// Counts one more connection; `None` if there are enough.
    fn place(&self, of: IpAddr) -> Option<Place> {
        let mut counts = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let all: usize = counts.values().sum();
        let own = counts.entry(of).or_default();
        if all >= MOST || *own >= MOST_OF_ONE {
            return None;
        }
        *own += 1;
        Some(Place { open: self.clone(), of })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut counts = self.open.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(own) = counts.get_mut(&self.of) {
            *own -= 1;
            if *own == 0 {
                counts.remove(&self.of);
            }
        }
    }
}

/// Completes when the program has to end: on Ctrl-C or, under Unix, on SIGTERM.
pub(crate) async fn ended() {
    #[cfg(unix)]
    if let Ok(mut end) = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            _ = end.recv() => {}
        }
        return;
    }
    let _ = tokio::signal::ctrl_c().await;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_machine_has_so_many_connections_and_no_more() {
        let open = Open::default();
        let (one, other) = (IpAddr::from([192, 0, 2, 1]), IpAddr::from([192, 0, 2, 2]));
        let mut places: Vec<Place> = (0..MOST_OF_ONE).map(|_| open.place(one).unwrap()).collect();
        assert!(open.place(one).is_none());
        places.push(open.place(other).unwrap());
        places.remove(0);
        assert!(open.place(one).is_some());
        drop(places);
        assert!(open.0.lock().unwrap().is_empty());
    }
}
