//! The server: pages over HTTP on this machine's own address.
//!
//! Every page is a plain function from the office and what was asked to a reply; it runs on a thread
//! of its own, so that it may read the nursery file without holding others up, and a fault in one
//! ends that page only.

pub(crate) mod address;
mod ask;
mod bed;
mod begin;
mod book;
mod enquiry;
pub(crate) mod form;
mod frost;
#[cfg(test)]
mod frost_tests;
mod honesty;
mod keeper;
mod lineage;
mod lot;
mod office;
mod order;
mod order_form;
#[cfg(test)]
mod order_tests;
mod page;
mod papers;
mod phones;
mod planting;
#[cfg(test)]
mod planting_tests;
mod promises;
mod record;
mod reply;
mod routes;
mod seasons;
mod settings;
mod settle;
mod sky;
mod standing;
mod table;
#[cfg(test)]
mod test_office;
#[cfg(test)]
mod tests;
mod trees;
mod water;
#[cfg(test)]
mod water_tests;
mod week;
mod who;
mod work;

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use app::ledger::desk::Desk;
use app::{AppError, Kind};
use tokio::net::TcpListener;

use office::Office;
pub use office::{Senses, Setup};
pub use phones::PhonesSetup;
use phones::tls::Answering;

/// Pages are made on so many threads at most: on a laptop's few cores more would only wait for each
/// other, each with memory of its own.
const PAGE_THREADS: usize = 4;

/// Where pages can be had.
pub struct Opened {
    /// On this machine.
    pub office: String,
    /// From phones, the likeliest first.
    pub phones: Vec<String>,
    /// Addresses of this machine that phones do not trust.
    pub left_out: Vec<IpAddr>,
    /// Whether every phone must trust this machine anew.
    pub is_new_authority: bool,
}

/// Serves a nursery file on this machine until `Ctrl-C`, and phones in its network where that was asked for;
/// `ready` is told the addresses once pages can be had.
///
/// # Errors
/// When the nursery file cannot be opened or the port is taken.
pub fn serve(setup: Setup, ready: impl FnOnce(&Opened)) -> Result<(), AppError> {
    let desk = Desk::open(&setup.nursery)?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(PAGE_THREADS)
        .enable_all()
        .build()
        .map_err(|error| unavailable(&error, "the system"))?;
    runtime.block_on(run(setup, desk, ready))
}

async fn run(setup: Setup, desk: Desk, ready: impl FnOnce(&Opened)) -> Result<(), AppError> {
    let asked = SocketAddr::from((Ipv4Addr::LOCALHOST, setup.port));
    let listener = TcpListener::bind(asked)
        .await
        .map_err(|error| unavailable(&error, &asked.to_string()))?;
    let address = listener
        .local_addr()
        .map_err(|error| unavailable(&error, &asked.to_string()))?;
    let plan_at_once = setup.plan_at_once;
    let mut opened = Opened {
        office: format!("http://{address}/"),
        phones: Vec::new(),
        left_out: Vec::new(),
        is_new_authority: false,
    };
    let office = Arc::new(Office::new(setup, desk, address.port()));
    let doors = open_to_phones(&office, &mut opened).await?;
    if plan_at_once {
        office.start_plan(work::How::default(), &[])?;
    }
    let stop = Arc::new(AtomicBool::new(false));
    keeper::start(&office, &stop);
    let router = routes::router(Arc::clone(&office));
    let phones = Answering::start(doors, &office, &routes::all(Arc::clone(&office)));
    ready(&opened);
    let served = axum::serve(listener, router)
        .with_graceful_shutdown(asked_to_stop())
        .await;
    stop.store(true, Ordering::Relaxed);
    phones.end().await;
    office.close();
    served.map_err(|error| unavailable(&error, &address.to_string()))
}

/// Opens the door for phones, where that was asked for.
async fn open_to_phones(
    office: &Arc<Office>,
    opened: &mut Opened,
) -> Result<Vec<TcpListener>, AppError> {
    let Some(setup) = office.setup.phones.clone() else {
        return Ok(Vec::new());
    };
    let (doors, phones, is_new_authority) = phones::tls::open(setup, &office.clock()).await?;
    let hosts = phones.hosts.iter();
    opened.phones = hosts.map(|host| format!("https://{host}/")).collect();
    opened.left_out.clone_from(&phones.left_out);
    opened.is_new_authority = is_new_authority;
    // Nobody else opens it.
    let _ = office.phones.set(phones);
    Ok(doors)
}

/// Waits for `Ctrl-C`, or for the system's own request to end; without these signals the program ends
/// as any other does.
async fn asked_to_stop() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut told) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = told.recv() => {}
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}

fn unavailable(error: &std::io::Error, place: &str) -> AppError {
    AppError::new(
        Kind::Unavailable,
        format!("pages cannot be served: {error}"),
        place,
        "choose another port with --port, or end the program that uses this one",
    )
}
