//! How this machine is reached by phones: what was asked for, its name, its addresses, its keys' folder.

use std::net::{IpAddr, UdpSocket};
use std::path::PathBuf;

use app::phones::Reach;
use app::{AppError, Kind};
use clap::{ArgGroup, Args};
use web::PhonesSetup;

/// Serving phones.
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("reach").args(["phones", "address"]).multiple(true))]
pub struct PhoneWords {
    /// Also serve phones in this machine's network, over HTTPS, once they have joined
    #[arg(id = "phones", long = "phones")]
    pub wanted: bool,
    /// Serve phones at this address of the machine only; once for each
    #[arg(long, value_name = "ADDRESS")]
    pub address: Vec<IpAddr>,
    /// The port for phones; 0 for any that is free
    #[arg(
        id = "phones_port",
        long = "phones-port",
        default_value_t = 8443,
        value_name = "N",
        requires = "reach"
    )]
    pub port: u16,
    /// Folder that keeps the phones' certificate and its keys; among your own settings without it
    #[arg(long, value_name = "FOLDER", requires = "reach")]
    pub keys: Option<PathBuf>,
    /// A certificate of your own in place of one made here, PEM
    #[arg(long, value_name = "FILE", requires_all = ["reach", "key"], conflicts_with = "keys")]
    pub certificate: Option<PathBuf>,
    /// The key of your own certificate, PEM
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub key: Option<PathBuf>,
}

impl PhoneWords {
    /// What was asked for; none where phones are not to be served.
    pub fn setup(&self) -> Result<Option<PhonesSetup>, AppError> {
        if !self.wanted && self.address.is_empty() {
            return Ok(None);
        }
        let own = self.certificate.clone().zip(self.key.clone());
        let keys = match &self.keys {
            Some(folder) => folder.clone(),
            // Nothing is kept there.
            None if own.is_some() => PathBuf::new(),
            None => own_folder()?,
        };
        let addresses = if self.address.is_empty() {
            addresses()?
        } else {
            self.address.clone()
        };
        if let Some(loopback) = addresses.iter().find(|it| it.is_loopback()) {
            return Err(AppError::new(
                Kind::Invalid,
                format!("{loopback} reaches this machine from itself only"),
                "--address",
                "name the address under which phones reach this machine, or leave it out",
            ));
        }
        Ok(Some(PhonesSetup {
            reach: Reach {
                machine: machine(),
                addresses,
                chosen: !self.address.is_empty(),
            },
            port: self.port,
            keys,
            own,
        }))
    }
}

/// The folder of the user's own settings.
fn own_folder() -> Result<PathBuf, AppError> {
    let of = |name: &str| std::env::var_os(name).filter(|it| !it.is_empty());
    let home = || of("HOME").map(PathBuf::from);
    let settings = if cfg!(windows) {
        of("APPDATA").map(PathBuf::from)
    } else if cfg!(target_os = "macos") {
        home().map(|home| home.join("Library/Application Support"))
    } else {
        let settings = of("XDG_CONFIG_HOME").map(PathBuf::from);
        settings.or_else(|| home().map(|home| home.join(".config")))
    };
    let settings = settings.filter(|it| it.is_absolute());
    settings
        .map(|it| it.join("barkslip").join("phones"))
        .ok_or_else(|| {
            AppError::new(
                Kind::NotFound,
                "there is no folder for your own settings",
                "the phones' certificate",
                "name a folder of your own after --keys",
            )
        })
}

/// The machine's name where it can stand before `.local`; none where it has no such name.
fn machine() -> Option<String> {
    let name = gethostname::gethostname().into_string().ok()?;
    let label = name.split('.').next()?.to_ascii_lowercase();
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || byte == b'-';
    let is_label = (1..=63).contains(&label.len())
        && label.bytes().all(is_plain)
        && !label.starts_with('-')
        && !label.ends_with('-');
    (is_label && label != "localhost").then_some(label)
}

/// The machine's addresses in its networks, the one it reaches others by first. Those of IPv6 change from day
/// to day in many networks, so that they count only where there are no others.
fn addresses() -> Result<Vec<IpAddr>, AppError> {
    let known = if_addrs::get_if_addrs().map_err(|error| {
        AppError::new(
            Kind::Unavailable,
            format!("the addresses of this machine cannot be had: {error}"),
            "the system",
            "name one after --address",
        )
    })?;
    let known = known.into_iter();
    let mut addresses: Vec<IpAddr> = known
        .filter(|it| !it.is_loopback() && !it.is_link_local())
        .map(|it| it.ip())
        .collect();
    if addresses.iter().any(IpAddr::is_ipv4) {
        addresses.retain(IpAddr::is_ipv4);
    }
    let likeliest = likeliest();
    addresses.sort_by_key(|it| (Some(*it) != likeliest, *it));
    addresses.dedup();
    Ok(addresses)
}

/// The address by which the machine would speak to others. Nothing is sent for it.
fn likeliest() -> Option<IpAddr> {
    let socket = UdpSocket::bind("0.0.0.0:0").ok()?;
    socket.connect("203.0.113.1:9").ok()?;
    Some(socket.local_addr().ok()?.ip())
}
