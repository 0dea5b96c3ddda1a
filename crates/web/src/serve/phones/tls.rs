//! Answering over HTTPS: handshakes, limits on how long and how many, and renewing what is shown.

use std::convert::Infallible;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use app::phones::Certificates;
use app::{AppError, Kind};
use axum::Router;
use axum::body::Body;
use axum::http::{Response, StatusCode};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::{GracefulShutdown, Watcher};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::task::JoinSet;
use tokio::time::{sleep, timeout};
use tokio_rustls::TlsAcceptor;
use tower::ServiceExt as _;

use super::super::office::Office;
use super::super::reply;
use super::door::Door;
use super::peers::Peers;
use super::{Phones, PhonesSetup};

/// Who connects must have shaken hands after so long, and sent the head of a request after so long.
const HANDSHAKE: Duration = Duration::from_secs(10);
const HEAD: Duration = Duration::from_secs(30);
/// A request has to be sent and answered within so long; an office's Wi-Fi reaches the far beds badly.
const REQUEST: Duration = Duration::from_mins(2);
/// Connections at once; who comes then waits. A crew has a few dozen phones.
const MOST_CONNECTIONS: usize = 256;
/// A connection that cannot be taken, as when files run out, is tried again after so long.
const PAUSE: Duration = Duration::from_millis(200);
/// Who is being answered when the program ends has so long to hear it.
const FAREWELL: Duration = Duration::from_secs(2);
/// Certificates are looked at so often while phones are served.
const RENEWAL: Duration = Duration::from_hours(12);

/// The first byte of a handshake; no request without HTTPS begins with it.
const HANDSHAKE_BYTE: u8 = 0x16;

/// What certificates are shown with.
pub(super) fn config(of: &Certificates) -> Result<Arc<ServerConfig>, AppError> {
    let unusable = |why: String| {
        AppError::new(
            Kind::Invalid,
            format!("the certificate cannot be used: {why}"),
            "phones over HTTPS",
            "check that certificate and key belong together, both as PEM",
        )
    };
    let chain: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(of.chain.as_bytes()).collect();
    let chain = chain.map_err(|error| unusable(error.to_string()))?;
    let key = PrivateKeyDer::from_pem_slice(of.key.as_bytes())
        .map_err(|error| unusable(error.to_string()))?;
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let made = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .and_then(|it| it.with_no_client_auth().with_single_cert(chain, key));
    let mut config = made.map_err(|error| unusable(error.to_string()))?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(Arc::new(config))
}

/// Opens the door: takes the port on every address, with the certificates as they are now.
pub(in crate::serve) async fn open(
    setup: PhonesSetup,
    now: &str,
) -> Result<(Vec<TcpListener>, Phones, bool), AppError> {
    let certificates = setup.certificates(now)?;
    let is_named = |it: &&IpAddr| setup.own.is_some() || certificates.names.addresses.contains(it);
    let addresses: Vec<IpAddr> = setup
        .reach
        .addresses
        .iter()
        .filter(is_named)
        .copied()
        .collect();
    let mut port = setup.port;
    let mut listeners = Vec::new();
    for address in addresses {
        let at = SocketAddr::new(address, port);
        let taken = TcpListener::bind(at).await;
        let listener = taken.map_err(|error| unavailable(&error, at))?;
        let told = listener
            .local_addr()
            .map_err(|error| unavailable(&error, at))?;
        port = told.port();
        listeners.push(listener);
    }
    if listeners.is_empty() {
        return Err(AppError::new(
            Kind::NotFound,
            "this machine has no address in a network",
            "--phones",
            "connect it to the network that the phones are in, or name an address after --address",
        ));
    }
    let phones = Phones::new(setup, port, &certificates)?;
    Ok((listeners, phones, certificates.is_new))
}

fn unavailable(error: &std::io::Error, at: SocketAddr) -> AppError {
    AppError::new(
        Kind::Unavailable,
        format!("phones cannot be served: {error}"),
        at.to_string(),
        "choose another port with --phones-port, or an address of this machine with --address",
    )
}

/// Answers phones until it is ended.
pub(in crate::serve) struct Answering {
    tasks: JoinSet<()>,
    graceful: Arc<GracefulShutdown>,
}

impl Answering {
    /// Begins to answer.
    pub(in crate::serve) fn start(
        listeners: Vec<TcpListener>,
        office: &Arc<Office>,
        router: &Router,
    ) -> Self {
        let (mut tasks, graceful) = (JoinSet::new(), Arc::new(GracefulShutdown::new()));
        let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
        let peers = Arc::new(Peers::default());
        for listener in listeners {
            let host = Host {
                office: Arc::clone(office),
                router: router.clone(),
            };
            tasks.spawn(answer_all(
                listener,
                host,
                Arc::clone(&graceful),
                Arc::clone(&room),
                Arc::clone(&peers),
            ));
        }
        tasks.spawn(renew(Arc::clone(office)));
        Self { tasks, graceful }
    }

    /// Takes nobody new, and lets those who are being answered hear it.
    pub(in crate::serve) async fn end(mut self) {
        self.tasks.shutdown().await;
        if let Some(graceful) = Arc::into_inner(self.graceful) {
            // Who does not listen any more is left.
            let _ = timeout(FAREWELL, graceful.shutdown()).await;
        }
    }
}

/// Answers everybody who comes to an address, so many at once, and of each so many.
async fn answer_all(
    listener: TcpListener,
    host: Host,
    graceful: Arc<GracefulShutdown>,
    room: Arc<Semaphore>,
    peers: Arc<Peers>,
) {
    loop {
        let Ok(place) = Arc::clone(&room).acquire_owned().await else {
            return;
        };
        match listener.accept().await {
            Ok((stream, peer)) => {
                let Some(of_peer) = peers.place(peer.ip()) else {
                    continue;
                };
                let (host, watcher) = (host.clone(), graceful.watcher());
                tokio::spawn(async move {
                    host.answer(stream, peer.ip(), watcher).await;
                    drop((place, of_peer));
                });
            }
            Err(_) => sleep(PAUSE).await,
        }
    }
}

/// Renews certificates that near their end.
async fn renew(office: Arc<Office>) {
    loop {
        sleep(RENEWAL).await;
        let inside = Arc::clone(&office);
        // What fails now is tried again next time; the certificate holds for weeks yet.
        let _ = tokio::task::spawn_blocking(move || {
            super::of(&inside).map(|phones| phones.renew(&inside.clock()))
        })
        .await;
    }
}

/// What it takes to answer.
#[derive(Clone)]
struct Host {
    office: Arc<Office>,
    router: Router,
}

impl Host {
    async fn answer(self, stream: TcpStream, peer: IpAddr, watcher: Watcher) {
        // Small answers go at once.
        let _ = stream.set_nodelay(true);
        let mut first = [0];
        let looked = timeout(HANDSHAKE, stream.peek(&mut first)).await;
        if !matches!(looked, Ok(Ok(1))) {
            return;
        }
        let Some(phones) = super::of(&self.office) else {
            return;
        };
        if first[0] != HANDSHAKE_BYTE {
            // Only who has to fetch an authority's certificate is answered without HTTPS.
            if phones.authority().is_some() {
                let io = TokioIo::new(stream);
                converse(self.router, io, Door::Plain, watcher).await;
            }
            return;
        }
        let acceptor = TlsAcceptor::from(phones.config());
        if let Ok(Ok(safe)) = timeout(HANDSHAKE, acceptor.accept(stream)).await {
            let io = TokioIo::new(safe);
            converse(self.router, io, Door::Phones(peer), watcher).await;
        }
    }
}

/// Answers one request after the other.
async fn converse<I>(router: Router, io: I, door: Door, watcher: Watcher)
where
    I: hyper::rt::Read + hyper::rt::Write + Unpin + Send + 'static,
{
    let service = service_fn(move |mut request: hyper::Request<Incoming>| {
        request.extensions_mut().insert(door);
        let answered = router.clone().oneshot(request.map(Body::new));
        async move {
            let response = match timeout(REQUEST, answered).await {
                Ok(Ok(response)) => response,
                Ok(Err(never)) => match never {},
                Err(_) => too_slow(),
            };
            Ok::<_, Infallible>(response)
        }
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD)
        .serve_connection(io, service);
    // A phone that walks out of reach is no fault of ours.
    let _ = watcher.watch(connection).await;
}

fn too_slow() -> Response<Body> {
    reply::of_kind(
        StatusCode::REQUEST_TIMEOUT,
        "text/plain; charset=utf-8",
        Vec::new(),
    )
}
